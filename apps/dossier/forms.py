"""Forms of the record: a bundle, a head that somebody kept, a correction."""

from django import forms

from apps.corridor import entries


class BundleForm(forms.Form):
    """Asking for a bundle."""

    originals = forms.BooleanField(
        label="With sealed originals of photos and of pictures of papers",
        required=False,
        help_text="they may carry the phone's position",
    )
    client_id = forms.UUIDField(widget=forms.HiddenInput)


class HeadForm(forms.Form):
    """A head that somebody kept."""

    head = forms.FileField(label="File of the head that you kept", help_text="from a mail, a bundle or this page")


class CorrectionForm(forms.Form):
    """Saying that an entry is mistaken."""

    right = forms.CharField(label="What is right", max_length=entries.LONGEST, widget=forms.Textarea(attrs={"rows": 2}))
    reason = forms.CharField(
        label="How the mistake came about", max_length=entries.LONGEST, widget=forms.Textarea(attrs={"rows": 2})
    )
    client_id = forms.UUIDField(widget=forms.HiddenInput)

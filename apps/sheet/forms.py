"""How forms look: every field through one accessible template."""

from django.forms.renderers import TemplatesSetting


class SheetRenderer(TemplatesSetting):
    """Django's renderer with our field template."""

    field_template_name = "components/field.html"

"""Views of editions: one requirement, the list, one edition with its draft's tools, editing, trying against history."""

from typing import Any

from django.contrib import messages
from django.core import signing
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from apps.corridor import editions as acts
from apps.corridor.access import Role
from apps.holdpoints.trial import Changed, trial
from apps.record.ids import uuid7
from apps.requirements.compare import differences, general
from apps.requirements.models import Edition, Requirement
from apps.setup.editions import pictures, queries
from apps.setup.editions.forms import BeginForm, BlockForm, PublishForm, TermsForm, WordForm
from apps.sheet.acting import acted
from apps.sheet.cells import csv_answer
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock

WHILE = "This was refused; what you typed is kept."


def may_edit(request: CorridorRequest) -> bool:
    """Say whether this person drafts and publishes here."""
    return Role.ENGINEER in request.roles or request.user.is_superuser


def _edition(number: int) -> Edition:
    return get_object_or_404(Edition.objects.select_related("based_on"), number=number)


@require_GET
@corridor_page("requirements")
def requirement(request: CorridorRequest, number: int, key: str) -> HttpResponse:
    """Show one requirement of one edition: limit, source, what a reading would be, its history across editions."""
    edition = _edition(number)
    row = get_object_or_404(Requirement, edition=edition, key=key)
    plan, design = queries.plan_for(request.corridor, row.spec)
    typed = request.GET.get("reading", "").strip()[:60]
    context = {
        "edition": edition,
        "row": row,
        "spec": row.spec,
        "source": queries.sources(edition, row.spec),
        "caution": edition.stage_cautions(row.stage).get(row.spec.caution),
        "limit": row.spec.limit_text(plan),
        "design": design,
        "typed": typed,
        "example": queries.tried(row.spec, typed, plan, edition.rule) if typed else None,
        "examples": queries.examples(row.spec, plan, edition.rule),
        "history": queries.history(key),
        "may_edit": may_edit(request) and edition.is_draft,
        "titleblock": titleblock(request, ("Edition", f"{edition.number}, {edition.state}"), ("Requirement", key)),
    }
    if request.htmx:
        return render(request, "setup/editions/_example.html", {"example": context["example"], "spec": row.spec})
    return render(request, "setup/editions/requirement.html", context)


@require_http_methods(["GET", "POST"])
@corridor_page("requirements")
def listed(request: CorridorRequest) -> HttpResponse:
    """List every edition; begin a draft from one."""
    form = BeginForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        given = {"corridor": request.corridor, "based_on": _edition(said["based_on"]), "title": said["title"]}
        if answer := acted(request, form, acts.begin_draft, **given):
            messages.success(
                request, f"Draft {answer['edition']} begins with everything that edition {said['based_on']} says."
            )
            return redirect("setup:edition", request.corridor.slug, answer["edition"])
    context = {
        "editions": queries.editions(request.corridor),
        "form": form
        if form.is_bound
        else BeginForm(initial={"based_on": request.corridor.edition.number, "client_id": uuid7()}),
        "may_edit": may_edit(request),
        "titleblock": titleblock(request, ("In force", f"Edition {request.corridor.edition.number}")),
    }
    return render(request, "setup/editions/list.html", context, status=422 if form.errors else 200)


@require_GET
@corridor_page("requirements")
def edition(request: CorridorRequest, number: int) -> HttpResponse:
    """Show one edition: what differs from another, and what its draft still needs."""
    return _show(request, _edition(number))


def _show(request: CorridorRequest, found: Edition, status: int = 200, **refused: Any) -> HttpResponse:
    """Draw one edition; `refused` are forms that were not accepted, with all that was typed."""
    against = _against(request, found)
    changed = differences(against.content(), found.content()) if against else []
    mine = may_edit(request)
    context = {
        "edition": found,
        "in_force": found.pk == request.corridor.edition_id,
        "others": [each for each in Edition.objects.order_by("-number") if each.pk != found.pk],
        "against": against,
        "stages": queries.by_stage(changed),
        "changed": len(changed),
        "judging": sum(each.judges for each in changed),
        "general": general(against.content(), found.content()) if against else [],
        "touched": queries.touched(request.corridor, found) if not found.is_draft else [],
        "may_edit": mine,
        "terms": refused.get("terms")
        or TermsForm(found, initial={"title": found.title, "rule": found.rule, "client_id": uuid7()}),
        "publish": refused.get("publish") or PublishForm(request=request, initial={"client_id": uuid7()}),
        "word": refused.get("word") or WordForm(initial={"client_id": uuid7()}),
        "refused": refused,
        "count": found.requirements.count(),
        "titleblock": titleblock(
            request, ("Edition", f"{found.number}, {found.state}"), ("Digest", found.digest[:12] or "none yet")
        ),
    }
    return render(request, "setup/editions/edition.html", context, status=status)


def _against(request: CorridorRequest, found: Edition) -> Edition | None:
    """Return the edition to compare with: the one asked for, else its base, else the one in force."""
    asked = request.GET.get("with", "")
    if asked.isascii() and asked.isdigit() and len(asked) < 8:
        return Edition.objects.exclude(pk=found.pk).filter(number=int(asked)).first()
    return found.based_on or (request.corridor.edition if request.corridor.edition_id != found.pk else None)


# ---- what is done to a draft


@require_POST
@corridor_page("requirements")
def terms(request: CorridorRequest, number: int) -> HttpResponse:
    """Change title, rule and gates of a draft."""
    draft = _edition(number)
    form = TermsForm(draft, request.POST)
    if form.is_valid():
        said = form.cleaned_data
        given = {"corridor": request.corridor, "draft": draft, "gates": form.gates}
        if acted(request, form, acts.set_terms, title=said["title"], rule=said["rule"], **given):
            messages.success(request, "Title, rule and gates are kept.")
            return redirect("setup:edition", request.corridor.slug, number)
    return _show(request, draft, 422, terms=form)


@require_POST
@corridor_page("requirements")
def publish(request: CorridorRequest, number: int) -> HttpResponse:
    """Publish a draft, signed."""
    draft = _edition(number)
    form = PublishForm(request.POST, request=request)
    if form.is_valid():
        given = {"corridor": request.corridor, "draft": draft, "signed": form.signed}
        if acted(request, form, acts.publish_draft, **given):
            messages.success(
                request, f"Edition {number} is published. It never changes now; put it in force when it shall be used."
            )
            return redirect("setup:edition", request.corridor.slug, number)
    return _show(request, draft, 422, publish=form)


@require_POST
@corridor_page("requirements")
def go(request: CorridorRequest, number: int, what: str) -> HttpResponse:
    """Put an edition in force, or throw a draft away."""
    found = _edition(number)
    form = WordForm(request.POST)
    doing = {"force": _force, "discard": _discard}.get(what)
    if doing is None:
        raise Http404("There is no such word.")
    if form.is_valid() and (where := doing(request, found, form)):
        return where
    return _show(request, found, 409, word=form)


def _force(request: CorridorRequest, found: Edition, form: WordForm) -> HttpResponse | None:
    if not acted(request, form, acts.put_in_force, corridor=request.corridor, edition=found):
        return None
    messages.success(request, f"Edition {found.number} is in force for new inspections.")
    return redirect("setup:edition", request.corridor.slug, found.number)


def _discard(request: CorridorRequest, found: Edition, form: WordForm) -> HttpResponse | None:
    if not acted(request, form, acts.discard_draft, corridor=request.corridor, draft=found):
        return None
    messages.success(request, f"Draft {found.number} is thrown away; the record keeps what was changed in it.")
    return redirect("setup:editions", request.corridor.slug)


@require_http_methods(["GET", "POST"])
@corridor_page("requirements")
def edit(request: CorridorRequest, number: int, key: str = "") -> HttpResponse:
    """Write a requirement of a draft: the form, what readings would be, keep it or take it out."""
    draft = _edition(number)
    row = get_object_or_404(Requirement, edition=draft, key=key) if key else None
    if not draft.is_draft or not may_edit(request):
        messages.error(request, f"{draft} cannot be edited here by you. An engineer begins a draft of a new one.")
        return redirect("setup:edition", request.corridor.slug, number)
    if request.method != "POST":
        block = row.block if row else _template(request, draft)
        form = BlockForm(draft, initial={**BlockForm.typed(block), "client_id": uuid7()})
        return _draw_edit(request, draft, row, form)
    form = BlockForm(draft, request.POST)
    valid = form.is_valid()
    if "example" in request.POST or request.htmx:
        return _draw_edit(request, draft, row, form)
    if valid and (where := _kept(request, draft, row, form)):
        return where
    return _draw_edit(request, draft, row, form, 422)


def _template(request: CorridorRequest, draft: Edition) -> dict[str, Any]:
    """Return what a new requirement begins with: a copy of another one, or little."""
    like = draft.requirements.filter(key=request.GET.get("like", "")).first()
    return {**like.block, "key": ""} if like else {"grade": "minor", "source": "common_practice"}


def _kept(request: CorridorRequest, draft: Edition, row: Requirement | None, form: BlockForm) -> HttpResponse | None:
    """Keep or take out what the form says; None when it is refused."""
    was = _was(request, row)
    told: dict[str, Any] = {"corridor": request.corridor, "draft": draft}
    if "drop" in request.POST and row is not None:
        kept = acted(request, form, acts.drop_requirement, key=row.key, was=was or {}, **told)
        said = f"{row.key} is taken out of the draft."
    else:
        if row is not None and form.block.get("key") != row.key:
            form.add_error(
                "key", f"The key stays {row.key}: readings are kept under it. Add a new requirement instead."
            )
            return None
        kept = acted(request, form, acts.change_requirement, block=form.block, was=was, **told)
        said = f"{form.block['key']} is kept in the draft."
    if not kept:
        return None
    messages.success(request, said)
    return redirect("setup:edition", request.corridor.slug, draft.number)


def _was(request: CorridorRequest, row: Requirement | None) -> dict[str, Any] | None:
    """Return the block as the page showed it, signed by the page; what stands there now is for the act to compare."""
    try:
        found: dict[str, Any] | None = signing.loads(request.POST.get("was", ""), salt="setup.edit")
    except signing.BadSignature:
        return row.block if row else None
    return found


def _draw_edit(
    request: CorridorRequest, draft: Edition, row: Requirement | None, form: BlockForm, status: int = 200
) -> HttpResponse:
    spec = form.requirement if form.is_bound else (row.spec if row else None)
    plan, design = queries.plan_for(request.corridor, spec) if spec else ({}, "")
    typed = str(form["reading"].value() or "").strip()[:60]
    kept = request.POST.get("was") or signing.dumps(row.block if row else None, salt="setup.edit", compress=True)
    context = {
        "edition": draft,
        "row": row,
        "form": form,
        "spec": spec,
        "design": design,
        "limit": spec.limit_text(plan) if spec else "",
        "examples": queries.examples(spec, plan, draft.rule) if spec else [],
        "example": queries.tried(spec, typed, plan, draft.rule) if spec and typed else None,
        "was": kept,
        "titleblock": titleblock(request, ("Draft", f"{draft.number}, {draft.title}")),
    }
    template = "setup/editions/_examples.html" if request.htmx else "setup/editions/edit.html"
    return render(request, template, context, status=200 if request.htmx else status)


@require_GET
@corridor_page("requirements")
def tried(request: CorridorRequest, number: int) -> HttpResponse:
    """Show which past verdicts an edition would have changed on this corridor."""
    found = _edition(number)
    result = trial(request.corridor, found)
    if request.GET.get("format") == "csv":
        return csv_answer(f"{request.corridor.slug}-edition-{number}-tried", CSV_COLUMNS, map(_csv_row, result.changed))
    context = {
        "edition": found,
        "trial": result,
        "groups": pictures.groups(result),
        "moves": pictures.moves(result),
        "titleblock": titleblock(
            request, ("Edition", f"{found.number}, {found.state}"), ("Readings", f"{result.judged:,}")
        ),
    }
    return render(request, "setup/editions/tried.html", context)


CSV_COLUMNS = (
    "foundation", "stage", "requirement", "attempt", "looked at", "reading", "before", "after", "limit before", "limit after"
)  # fmt: skip


def _csv_row(each: Changed) -> tuple[object, ...]:
    looked = f"{each.looked_at:%Y-%m-%d %H:%M}"
    limits = (each.limit_before, each.limit_after)
    return (each.mark, each.stage, each.key, each.attempt, looked, each.value_text, each.before, each.after, *limits)

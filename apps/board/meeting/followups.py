"""The list of follow-ups: what is to be done, by whom, until when; and what may be done about each by who looks at it."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.contrib import messages
from django.db.models import Count, Q, Window
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_GET, require_http_methods

from apps.board.meeting.forms import AddForm, EndForm, PostponeForm, next_working_day
from apps.corridor.models import Corridor
from apps.followups import acts, moves
from apps.followups.models import FollowUp, FollowUpQuerySet
from apps.people.models import Person
from apps.record.ids import uuid7
from apps.sheet.acting import acted
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock

LATELY = 20
"""How many of those done or dropped are shown."""
MOST = 200
"""How many still to do are shown."""


DUE_FIRST = 3
"""How many the morning sheet has room for."""


@dataclass(frozen=True, slots=True)
class Due:
    """What the morning sheet says of them."""

    rows: Sequence[FollowUp]
    count: int
    """All that are to do, as many as the list holds."""


@dataclass(frozen=True, slots=True)
class Line:
    """One follow-up in the list."""

    row: FollowUp
    late: bool
    mine: bool
    end: EndForm | None
    """None where this person may not report it done."""
    may_drop: bool
    postpone: PostponeForm | None


def rows(corridor: Corridor) -> FollowUpQuerySet:
    """Return the follow-ups of a corridor with what a line shows of them."""
    found: FollowUpQuerySet = FollowUp.objects.filter(corridor=corridor)
    return found.select_related("owner", "added_by", "ended_by", "foundation", "finding")


def due_first(corridor: Corridor) -> Due:
    """Return those due first, and how many are to do. One query."""
    found = list(rows(corridor).to_do().annotate(every=Window(Count("pk")))[:DUE_FIRST])
    return Due(found, found[0].every if found else 0)


def may(move: moves.Move, row: FollowUp, request: CorridorRequest) -> bool:
    """Say whether this person may make a move; the act says so again."""
    mine = (move.owner and row.owner_id == request.user.pk) or (move.adder and row.added_by_id == request.user.pk)
    return mine or bool(request.roles & moves.OFFICES)


@require_GET
@corridor_page("morning")
def listed(request: CorridorRequest) -> HttpResponse:
    """List what is to be done, one's own first, then by day; and what was done or dropped lately."""
    return _draw(request)


def add_form(request: CorridorRequest, about: str = "") -> AddForm | None:
    """Return the empty form for who may add one, with what it is about; None for who may not."""
    if not request.roles & moves.ADD_ROLES:
        return None
    proposed = {"client_id": uuid7(), "due_on": next_working_day(request), "mark": about}
    return AddForm(request=request, initial=proposed, auto_id="add_%s")


@require_http_methods(["POST"])
@corridor_page("morning")
def add(request: CorridorRequest) -> HttpResponse:
    """Add one, and go back to where it was asked for."""
    form = AddForm(request.POST, request=request, auto_id="add_%s")
    if not form.is_valid():
        return _draw(request, adding=form, status=422)
    said = form.cleaned_data
    given = {"corridor": request.corridor, "owner": Person.objects.get(pk=said["owner"]), **form.about}
    answer = acted(request, form, acts.add_follow_up, text=said["text"], due_on=said["due_on"], **given)
    if answer is None:
        return _draw(request, adding=form, status=409)
    messages.success(request, f"Follow-up {answer['follow_up']} is added, entry {answer['entry']}.")
    return redirect(_back(request))


def _back(request: CorridorRequest) -> str:
    """Return the page that asked, if it is one of ours; else the list."""
    asked = request.POST.get("next", "")
    ours = asked.startswith("/") and url_has_allowed_host_and_scheme(asked, allowed_hosts=None)
    return asked if ours else redirect("board:follow_ups", request.corridor.slug).url


@require_http_methods(["POST"])
@corridor_page("morning")
def end(request: CorridorRequest, number: int) -> HttpResponse:
    """Take the word that one is done or dropped."""
    row = get_object_or_404(rows(request.corridor), number=number)
    form = EndForm(request.POST, auto_id=f"end_{number}_%s")
    if not form.is_valid():
        return _draw(request, tried={number: form}, status=422)
    how, dropped = form.cleaned_data["how"], request.POST.get("move") == "drop"
    if dropped:
        answer = acted(request, form, acts.drop_follow_up, follow_up=row, reason=how)
    else:
        answer = acted(request, form, acts.finish_follow_up, follow_up=row, how=how)
    if answer is None:
        return _draw(request, tried={number: form}, status=409)
    messages.success(request, f"{row.name} is {'dropped' if dropped else 'done'}.")
    return redirect("board:follow_ups", request.corridor.slug)


@require_http_methods(["POST"])
@corridor_page("morning")
def postpone(request: CorridorRequest, number: int) -> HttpResponse:
    """Give one another day."""
    row = get_object_or_404(rows(request.corridor), number=number)
    form = PostponeForm(request.POST, auto_id=f"move_{number}_%s")
    if not form.is_valid():
        return _draw(request, moved={number: form}, status=422)
    said = form.cleaned_data
    given = {"follow_up": row, "due_on": said["due_on"], "reason": said["how"]}
    if acted(request, form, acts.postpone_follow_up, **given) is None:
        return _draw(request, moved={number: form}, status=409)
    messages.success(request, f"{row.name} is to be done until {said['due_on']:%-d %b %Y}.")
    return redirect("board:follow_ups", request.corridor.slug)


def _draw(
    request: CorridorRequest,
    *,
    adding: AddForm | None = None,
    tried: dict[int, EndForm] | None = None,
    moved: dict[int, PostponeForm] | None = None,
    status: int = 200,
) -> HttpResponse:
    tried, moved = tried or {}, moved or {}
    today, to_do = request.corridor.day(request.now), rows(request.corridor).to_do()
    found = list(to_do.own_first(request.user)[:MOST])
    counts = to_do.aggregate(
        count=Count("pk"),
        late=Count("pk", filter=Q(due_on__lt=today)),
        mine=Count("pk", filter=Q(owner=request.user)),
    )
    lines = [_line(row, request, tried.get(row.number), moved.get(row.number)) for row in found]
    shown = {row.number for row in found}
    context = {
        "lines": lines,
        **counts,
        "refused": [form for number, form in [*tried.items(), *moved.items()] if number not in shown],
        "ended": rows(request.corridor).exclude(state=moves.OPEN).order_by("-ended_at")[:LATELY],
        "add": adding or add_form(request, request.GET.get("about", "")[:20]),
        "titleblock": titleblock(request, ("Follow-ups", f"{counts['count']} to do, of which {counts['late']} late")),
    }
    return render(request, "board/meeting/follow_ups.html", context, status=status)


def _line(row: FollowUp, request: CorridorRequest, tried: EndForm | None, moved: PostponeForm | None) -> Line:
    finish, drop, later = (moves.MOVE[f"{name}_follow_up"] for name in ("finish", "drop", "postpone"))
    end_form = tried or EndForm(initial={"client_id": uuid7()}, auto_id=f"end_{row.number}_%s")
    proposed = {"client_id": uuid7(), "due_on": next_working_day(request)}
    move_form = moved or PostponeForm(initial=proposed, auto_id=f"move_{row.number}_%s")
    return Line(
        row=row,
        late=row.due_on < request.corridor.day(request.now),
        mine=row.owner_id == request.user.pk,
        end=end_form if may(finish, row, request) else None,
        may_drop=may(drop, row, request),
        postpone=move_form if may(later, row, request) else None,
    )

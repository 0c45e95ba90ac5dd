"""Pages of background jobs: how far each is, a way out, and the download at the end. A page app asks with `jobs.queue.ask`."""

import mimetypes
from uuid import UUID

from django.contrib import messages
from django.http import FileResponse, Http404, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_POST

from apps.jobs import queue, registry
from apps.jobs.models import Job
from apps.sheet.frame import CorridorRequest, corridor_page, titleblock

SHOWN = 50
"""How many jobs the list shows, the newest first."""


def title(job: Job) -> str:
    """Return what a job is in words, also when its kind is gone."""
    kind = registry.KINDS.get(job.kind)
    return kind.title if kind else job.kind.replace("_", " ").capitalize()


@require_GET
@corridor_page("record")
def jobs(request: CorridorRequest) -> HttpResponse:
    """List the corridor's jobs."""
    rows = list(Job.objects.filter(corridor=request.corridor).select_related("asked_by")[:SHOWN])
    context = {
        "rows": [(each, title(each)) for each in rows],
        "under_way": sum(not each.is_over for each in rows),
        "titleblock": titleblock(request, ("Jobs", f"{len(rows)}")),
    }
    return render(request, "jobs/jobs.html", context)


@require_GET
@corridor_page("record")
def job(request: CorridorRequest, job: UUID) -> HttpResponse:
    """Show one job; htmx asks for its fragment again while it lasts, a link does the same without script."""
    found = _find(request, job)
    context = {
        "job": found,
        "title": title(found),
        "may_cancel": may_cancel(request, found),
        "ahead": Job.objects.waiting().filter(created_at__lt=found.created_at).count(),
        "titleblock": titleblock(request, ("Job", title(found)), ("Asked by", found.asked_by)),
    }
    return render(request, "jobs/_job.html" if request.htmx else "jobs/job.html", context)


@require_POST
@corridor_page("record")
def cancel(request: CorridorRequest, job: UUID) -> HttpResponse:
    """Cancel a job: whoever asked for it, or the project office."""
    found = _find(request, job)
    if not may_cancel(request, found):
        messages.error(request, f"{found.asked_by} asked for this job: they or the project office may cancel it.")
    elif queue.cancel(job=found, at=request.now):
        messages.success(request, f"{title(found)}: cancelled.")
    else:
        messages.info(request, f"{title(found)} had ended before: {found.get_state_display().lower()}.")
    return redirect("jobs:job", request.corridor.slug, found.pk)


@require_GET
@corridor_page("record")
def result(request: CorridorRequest, job: UUID) -> HttpResponseBase:
    """Hand out the result of a job to a member of its corridor."""
    found = _find(request, job)
    if not found.has_result:
        raise Http404("There is no result to fetch: not done yet, or cleared away since.")
    kind = mimetypes.guess_type(found.result_name)[0] or "application/octet-stream"
    answer = FileResponse(found.result.open("rb"), as_attachment=True, filename=found.result_name, content_type=kind)
    answer["X-Content-Type-Options"] = "nosniff"
    return answer


def may_cancel(request: CorridorRequest, job: Job) -> bool:
    """Say whether this person may cancel a job."""
    return not job.is_over and (job.asked_by_id == request.user.pk or "office" in request.roles)


def _find(request: CorridorRequest, job: UUID) -> Job:
    return get_object_or_404(Job.objects.select_related("asked_by"), pk=job, corridor=request.corridor)

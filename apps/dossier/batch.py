"""The dossiers of a corridor, or of some of its foundations, as one job: a zip of PDFs."""

import zipfile
from datetime import datetime

from apps.corridor.models import Foundation, FoundationQuerySet
from apps.dossier import paper
from apps.jobs.models import Job
from apps.jobs.queue import Report
from apps.jobs.registry import kind
from apps.record.acts import Refused

KIND = "dossiers"
MARK = "{mark}"
"""Stands for the mark in the address that the job is given: a worker knows no host name."""


@kind(KIND, "Dossiers of a corridor", minutes=90)
def dossiers(job: Job, report: Report) -> None:
    """Write a dossier of every foundation asked for; all bear the time at which the job was asked for."""
    asked, corridor = job.arguments, job.corridor
    assert corridor is not None
    marks = list(_foundations(job).values_list("mark", flat=True))
    if not marks:
        raise Refused("None of the foundations asked for stands on this corridor.")
    made = job.created_at
    name = f"{corridor.slug}-dossiers-{made.astimezone(corridor.zone):%Y-%m-%d}.zip"
    report(0, len(marks), marks[0])
    with zipfile.ZipFile(report.file(name), "w", zipfile.ZIP_STORED) as file:  # the PDFs are compressed inside
        for done, mark in enumerate(marks, start=1):
            address = asked["address"].replace(MARK, mark)
            written = paper.dossier(corridor, mark, at=made, address=address, size=asked["size"], form=asked["form"])
            file.writestr(zipfile.ZipInfo(f"{mark}.pdf", _moment(made)), written)
            report(done, len(marks), marks[min(done, len(marks) - 1)])


def _foundations(job: Job) -> FoundationQuerySet:
    rows = Foundation.objects.filter(corridor=job.corridor).up_station()
    return rows.filter(mark__in=job.arguments["marks"]) if job.arguments["marks"] else rows


def _moment(at: datetime) -> tuple[int, int, int, int, int, int]:
    return at.year, at.month, at.day, at.hour, at.minute, at.second

"""What takes longer than a page may: the dossiers of a corridor as a zip of PDFs, and the bundle of a record."""

import zipfile
from datetime import datetime

from apps.corridor.models import Foundation, FoundationQuerySet
from apps.dossier import bundle, paper
from apps.jobs.models import Job
from apps.jobs.queue import Report
from apps.jobs.registry import kind
from apps.record.acts import Refused

KIND = "dossiers"
BUNDLE = "bundle"
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


@kind(BUNDLE, "Bundle of a record", minutes=180)
def bundles(job: Job, report: Report) -> None:
    """Write the bundle of the foundations asked for; of none named: of the whole record."""
    asked, corridor = job.arguments, job.corridor
    assert corridor is not None
    foundations = list(_foundations(job).select_related("design", "alignment", "crew"))
    report(0, len(foundations), foundations[0].mark if foundations else "")
    with report.file(asked["name"]).open("wb") as file:
        bundle.write(
            file,
            corridor,
            foundations,
            whole=not asked["marks"],
            originals=asked["originals"],
            paper=archived(job, asked["address"]),
            progress=report,
        )


def archived(job: Job, address: str) -> bundle.Paper:
    """Return what writes the dossier of a foundation for a bundle: the archive form, with its entries inside."""
    corridor = job.corridor
    assert corridor is not None
    return lambda each: paper.dossier(
        corridor, each.mark, at=job.created_at, address=address.replace(MARK, each.mark), form="archive"
    )


def _foundations(job: Job) -> FoundationQuerySet:
    rows = Foundation.objects.filter(corridor=job.corridor).up_station()
    return rows.filter(mark__in=job.arguments["marks"]) if job.arguments["marks"] else rows


def _moment(at: datetime) -> tuple[int, int, int, int, int, int]:
    return at.year, at.month, at.day, at.hour, at.minute, at.second

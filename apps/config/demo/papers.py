"""Papers of the demo as files: small PDFs by the project's own paper maker. Invented, and each says so."""

from datetime import datetime

from django.core.files.uploadedfile import SimpleUploadedFile

from apps.corridor.models import Corridor
from apps.record.papers import PDF
from apps.sheet.pdf import pdf

Facts = tuple[tuple[str, str], ...]

PAPERS: dict[str, tuple[str, str, Facts]] = {
    "MC-4471": (
        "Mill certificate MC-4471",
        "Reinforcing bars of one heat, tested at the mill before they were sent.",
        (("Heat", "20814"), ("Grade", "60"), ("Yield strength", "66,400 psi"), ("Tensile strength", "98,100 psi")),
    ),
    "MC-4502": (
        "Mill certificate MC-4502",
        "Anchor bolts of one heat, tested at the mill before they were sent.",
        (("Heat", "77120"), ("Grade", "55"), ("Yield strength", "58,900 psi"), ("Tensile strength", "84,700 psi")),
    ),
    "Wrench TW-03": (
        "Calibration of torque wrench TW-03",
        "Compared at five torques, clockwise; each value is the mean of five readings.",
        (("Range", "50 to 250 ft lb"), ("Largest deviation", "2.1 %"), ("Expanded uncertainty, k = 2", "1.2 %")),
    ),
}  # fmt: skip
"""Number of a paper → title, what it is of, what it states."""


def paper(number: str, corridor: Corridor, at: datetime) -> SimpleUploadedFile | None:
    """Return the paper with this number as it would be uploaded; None where the demo has only its facts."""
    if number not in PAPERS:
        return None
    title, lead, facts = PAPERS[number]
    context = {"title": title, "lead": lead, "facts": facts, "corridor": corridor, "now": at}
    return SimpleUploadedFile(f"{number}.pdf", pdf("demo/paper.html", context, at=at), PDF)

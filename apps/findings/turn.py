"""Whose turn a finding is: one rule for the register, the digest of the morning sheet and their filters."""

from django.db.models import OuterRef, Q, QuerySet, Subquery

from apps.findings.models import Disposition, Finding

ENGINEER, CONTRACTOR, INSPECTOR = "engineer", "contractor", "inspector"
TITLES = [(ENGINEER, "Engineer"), (CONTRACTOR, "Contractor"), (INSPECTOR, "Inspector")]
LEAVES = [kind for kind in Disposition.Kind if Disposition(kind=kind).leaves_it]
"""Dispositions that leave the work as it is: nobody corrects anything, the engineer closes."""


def mover(state: str, decided: str) -> str:
    """Return who moves a finding next, from its state and the kind last decided; empty for a closed one."""
    if state == Finding.State.CLOSED:
        return ""
    if state == Finding.State.DECIDED and decided not in LEAVES:
        return CONTRACTOR
    return INSPECTOR if state == Finding.State.ANSWERED else ENGINEER


def with_decided(rows: QuerySet[Finding]) -> QuerySet[Finding]:
    """Annotate `decided`: the kind of the disposition that holds, None before the first."""
    last = Disposition.objects.filter(finding=OuterRef("pk")).order_by("-at", "-id")
    return rows.annotate(decided=Subquery(last.values("kind")[:1]))


def waiting_for(rows: QuerySet[Finding], party: str) -> QuerySet[Finding]:
    """Keep those that wait for one party, as `mover` says. The rows carry `decided`."""
    correcting = Q(state=Finding.State.DECIDED) & ~Q(decided__in=LEAVES)
    if party == CONTRACTOR:
        return rows.filter(correcting)
    if party == INSPECTOR:
        return rows.filter(state=Finding.State.ANSWERED)
    return rows.exclude(state__in=[Finding.State.CLOSED, Finding.State.ANSWERED]).exclude(correcting)

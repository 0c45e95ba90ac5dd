"""A finding's way from what was seen to its verified end: who may do what, and what every step must say."""

from datetime import timedelta

import pytest

from apps.corridor.models import Corridor, Foundation
from apps.findings import acts, moves
from apps.findings.models import BLOCKING_GRADES, Finding
from apps.holdpoints import acts as hold_point_acts
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Entry
from tests.factories import corridor as corridors
from tests.factories import findings as steps
from tests.factories.doing import standing
from tests.factories.times import HOUR, NOW

GRADES = Finding.Grade.values


def counted(corridor: Corridor) -> dict[str, int]:
    corridor.tally.refresh_from_db()
    return dict(corridor.tally.findings)


def test_findings_are_numbered_within_their_corridor(foundation: Foundation) -> None:
    other = corridors.light_pole(corridors.whole_corridor("other-road"))
    names = [steps.raised(each).name for each in (foundation, foundation, other)]
    assert names == ["F-001", "F-002", "F-001"]


@pytest.mark.parametrize("grade", GRADES)
def test_a_finding_is_answered_within_the_days_of_its_grade(foundation: Foundation, grade: str) -> None:
    finding = steps.raised(foundation, grade=grade)
    today = foundation.corridor.day(NOW)
    assert finding.due_on == today + timedelta(days=moves.ANSWER_DAYS[grade])
    assert not Finding.objects.late(finding.due_on).exists()
    assert Finding.objects.late(finding.due_on + timedelta(days=1)).get() == finding
    assert finding.holds == (grade in BLOCKING_GRADES)


@pytest.mark.parametrize("title", ["", "   ", "x" * 161])
def test_a_finding_says_in_one_line_what_is_wrong(foundation: Foundation, inspector: Person, title: str) -> None:
    with pytest.raises(Refused, match="what is wrong"):
        acts.raise_finding(
            foundation=foundation,
            stage="drill",
            title=title,
            grade="major",
            by=inspector,
            at=NOW,
            client_id=uuid7(),
        )


def test_the_whole_way_is_in_the_record_and_leaves_no_count(foundation: Foundation) -> None:
    finding = steps.in_state(foundation, "closed")
    assert [entry.act for entry in Entry.objects.filter(subject="F-001").order_by("sequence")] == [
        "raise_finding",
        "decide_disposition",
        "answer_finding",
        "verify_finding",
        "close_finding",
    ]
    assert counted(foundation.corridor) == {}
    assert (finding.closed_at, str(finding.closed_by)) == (finding.since, "R. Halvorsen, PE")


@pytest.mark.parametrize("grade", GRADES)
def test_a_finding_is_counted_while_it_is_open(foundation: Foundation, grade: str) -> None:
    finding = steps.raised(foundation, grade=grade)
    assert counted(foundation.corridor) == {grade: 1}
    finding = steps.closed(steps.decided(finding, "concession"))
    assert counted(foundation.corridor) == {}
    acts.reopen_finding(
        finding=finding,
        reason="It moved",
        by=corridors.member(foundation.corridor, "engineer"),
        at=finding.since + HOUR,
        client_id=uuid7(),
    )
    assert counted(foundation.corridor) == {grade: 1}


# ---- disposition


def decide(finding: Finding, by: Person, kind: str, reason: str = "As drawn", consent: str = "") -> Finding:
    acts.decide_disposition(
        finding=finding,
        kind=kind,
        reason=reason,
        consent=consent,
        by=by,
        at=finding.since + HOUR,
        client_id=uuid7(),
    )
    return Finding.objects.get(pk=finding.pk)


@pytest.mark.parametrize("grade", GRADES)
@pytest.mark.parametrize("kind", ["rework", "repair", "concession", "regrade", "reject"])
def test_an_inspector_decides_the_rework_of_a_minor_finding_and_nothing_else(
    foundation: Foundation, inspector: Person, grade: str, kind: str
) -> None:
    finding = steps.raised(foundation, grade=grade)
    if (grade, kind) == ("minor", "rework"):
        assert decide(finding, inspector, kind).state == "decided"
    else:
        with pytest.raises(Refused, match="An inspector agrees to the rework of a minor finding"):
            decide(finding, inspector, kind, consent=steps.LETTER)


@pytest.mark.parametrize("grade", GRADES)
@pytest.mark.parametrize("kind", ["rework", "repair", "concession", "regrade", "reject"])
def test_what_touches_the_design_needs_the_consent_of_the_engineer_of_record(
    foundation: Foundation, engineer: Person, grade: str, kind: str
) -> None:
    finding = steps.raised(foundation, grade=grade)
    if (grade, kind) in moves.NOT_USED:
        with pytest.raises(Refused, match=f"is not used for a {grade} finding"):
            decide(finding, engineer, kind, consent=steps.LETTER)
    elif (grade, kind) in moves.NEEDS_CONSENT:
        with pytest.raises(Refused, match="needs the consent of the engineer of record"):
            decide(finding, engineer, kind)
        assert decide(finding, engineer, kind, consent=steps.LETTER).state == "decided"
    else:
        assert decide(finding, engineer, kind).state == "decided"


def test_someone_who_is_inspector_and_engineer_decides_as_the_engineer(
    foundation: Foundation, inspector: Person
) -> None:
    corridors.grant(foundation.corridor, inspector, "engineer")
    finding = steps.raised(foundation, grade="major")
    assert decide(finding, inspector, "rework").state == "decided"
    assert Entry.objects.get(act="decide_disposition").role == "engineer"


@pytest.mark.parametrize("reason", ["", "  "])
def test_a_disposition_needs_its_reason(foundation: Foundation, engineer: Person, reason: str) -> None:
    with pytest.raises(Refused, match="Give the reason"):
        decide(steps.raised(foundation), engineer, "rework", reason)


def test_an_unknown_disposition_is_refused(foundation: Foundation, engineer: Person) -> None:
    with pytest.raises(Refused, match="Choose rework, repair, concession, regrade or reject"):
        decide(steps.raised(foundation), engineer, "ignore")


def test_a_later_disposition_replaces_the_first_and_both_stay(foundation: Foundation, engineer: Person) -> None:
    finding = steps.decided(steps.raised(foundation), "concession")
    finding = decide(finding, engineer, "rework")
    assert [each.kind for each in finding.dispositions.all()] == ["concession", "rework"]
    with pytest.raises(Refused, match="is not verified yet"):
        steps.closed(finding)


# ---- correction


def test_what_is_left_as_it_is_has_nothing_to_correct(foundation: Foundation) -> None:
    finding = steps.decided(steps.raised(foundation), "concession")
    with pytest.raises(Refused, match="there is nothing to correct"):
        steps.answered(finding)


@pytest.mark.parametrize("act", ["verify_finding", "refuse_correction"])
def test_nobody_verifies_their_own_correction(foundation: Foundation, foreman: Person, act: str) -> None:
    finding = steps.in_state(foundation, "answered")
    corridors.grant(foundation.corridor, foreman, "inspector")
    before = standing(foundation.corridor)
    with pytest.raises(Refused, match="someone else verifies it"):
        getattr(acts, act)(finding=finding, reading="Seen", by=foreman, at=finding.since + HOUR, client_id=uuid7())
    assert standing(foundation.corridor) == before


def test_nobody_closes_what_they_verified(foundation: Foundation, engineer: Person, second_engineer: Person) -> None:
    finding = steps.in_state(foundation, "answered")
    said = {"at": finding.since + HOUR, "finding": finding}
    acts.verify_finding(reading="Seen", by=engineer, client_id=uuid7(), **said)
    with pytest.raises(Refused, match="someone else closes it"):
        acts.close_finding(by=engineer, client_id=uuid7(), **said)
    acts.close_finding(by=second_engineer, client_id=uuid7(), **said)
    assert Finding.objects.get().state == "closed"


def test_a_correction_sent_back_is_answered_again(foundation: Foundation, inspector: Person) -> None:
    finding = steps.in_state(foundation, "answered")
    acts.refuse_correction(
        finding=finding, reading="2 1/2 in, still short", by=inspector, at=finding.since + HOUR, client_id=uuid7()
    )
    finding = Finding.objects.select_related("corridor").get()
    assert (finding.state, finding.verifications.get().outcome) == ("decided", "nonconforming")
    assert steps.closed(steps.verified(steps.answered(finding))).state == "closed"


@pytest.mark.parametrize(
    ("state", "act", "said"),
    [
        ("decided", "answer_finding", {"done": " "}),
        ("answered", "verify_finding", {"reading": " "}),
        ("answered", "refuse_correction", {"reading": ""}),
        ("closed", "reopen_finding", {"reason": " "}),
    ],
)
def test_every_step_says_something(foundation: Foundation, state: str, act: str, said: dict[str, str]) -> None:
    finding = steps.in_state(foundation, state)
    role = "foreman" if act == "answer_finding" else "inspector"
    with pytest.raises(Refused, match=r"^(Say|Give) "):
        getattr(acts, act)(
            finding=finding,
            by=corridors.member(foundation.corridor, role),
            at=finding.since + HOUR,
            client_id=uuid7(),
            **said,
        )


# ---- abandoned foundations


def test_findings_close_with_their_foundation_and_stay_closed(foundation: Foundation, engineer: Person) -> None:
    finding = steps.raised(foundation)
    hold_point_acts.abandon(
        foundation=foundation, reason="Rock", by=engineer, at=finding.since + HOUR, client_id=uuid7()
    )
    finding = Finding.objects.select_related("corridor").get()
    assert finding.state == "closed"
    with pytest.raises(Refused, match="LP-001 is abandoned"):
        acts.reopen_finding(finding=finding, reason="Back", by=engineer, at=finding.since + HOUR, client_id=uuid7())
    with pytest.raises(Refused, match="raise the finding at its successor"):
        steps.raised(foundation)
    assert counted(foundation.corridor) == {}

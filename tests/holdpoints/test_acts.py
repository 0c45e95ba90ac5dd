"""The acts on hold points: order, evidence, who may decide, what a finding holds, what a reopening pulls back."""

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from apps.corridor.models import Corridor, Foundation
from apps.findings.models import Finding
from apps.holdpoints import acts, blockers
from apps.holdpoints.acts import Incomplete, Shot
from apps.holdpoints.judging import Answered, Typed
from apps.holdpoints.models import Condition, Decision, HoldPoint, Inspection, Photo, Reopening
from apps.people.models import Person
from apps.record.acts import Refused
from apps.record.ids import uuid7
from apps.record.models import Attachment, Entry
from tests.factories import corridor as corridors
from tests.factories import findings as steps
from tests.factories import materials
from tests.factories.doing import standing
from tests.factories.holdpoints import (
    after,
    answers_that_conform,
    at_stage,
    attempt,
    give_notice,
    hold_point,
    inspect,
    nonconforming_at,
    photos_for,
    referring_at,
    release,
    reopen,
    requirements,
    send_back,
)
from tests.factories.record import last_entry, picture
from tests.factories.times import DAY, HOUR, NOW


def states(foundation: Foundation) -> dict[str, str]:
    return dict(foundation.hold_points.values_list("stage", "state"))


# ---- notice


def test_a_notice_says_when_and_which_crew(foundation: Foundation, foreman: Person) -> None:
    point = give_notice(hold_point(foundation, "layout"), NOW, foreman, note="Stakes are in")
    notice = point.notices.get()
    assert (point.state, point.asked_for, point.since) == ("notified", NOW + HOUR, NOW)
    assert (notice.given_by, notice.crew, notice.note) == (foreman, foundation.corridor.crews.get(), "Stakes are in")
    assert Foundation.objects.get(pk=foundation.pk).crew == notice.crew


def test_notice_for_a_time_in_the_past_is_refused(foundation: Foundation) -> None:
    with pytest.raises(Refused, match="lies in the past"):
        give_notice(hold_point(foundation, "layout"), NOW, asked_for=NOW - timedelta(seconds=1))


def test_a_withdrawn_notice_leaves_the_hold_point_ready(foundation: Foundation, foreman: Person) -> None:
    point = at_stage(foundation, "layout", "notified")
    acts.withdraw_notice(hold_point=point, reason="Rain", by=foreman, at=after(foundation), client_id=uuid7())
    point = hold_point(foundation, "layout")
    assert (point.state, point.asked_for) == ("ready", None)
    assert point.notices.get().withdrawn_at == point.since
    assert last_entry(foundation.corridor_id).payload == {"stage": "layout", "reason": "Rain"}


def test_withdrawing_leaves_earlier_notices_as_they_were(foundation: Foundation, foreman: Person) -> None:
    point = at_stage(foundation, "layout", "returned")
    point = give_notice(point, after(foundation))
    acts.withdraw_notice(hold_point=point, by=foreman, at=after(foundation), client_id=uuid7())
    first, second = point.notices.all()
    assert first.withdrawn_at is None
    assert second.withdrawn_at is not None


# ---- order


@pytest.mark.parametrize("act", ["give_notice", "submit_inspection"])
def test_nothing_is_asked_or_looked_at_before_the_stage_before_is_released(foundation: Foundation, act: str) -> None:
    point = at_stage(foundation, "drill", "not_ready")
    before = standing(foundation.corridor)
    with pytest.raises(Refused, match="LP-001, drill is not ready"):
        give_notice(point, NOW) if act == "give_notice" else inspect(point, NOW)
    assert standing(foundation.corridor) == before


def test_a_release_makes_the_next_stage_ready(foundation: Foundation) -> None:
    at_stage(foundation, "layout", "released")
    assert states(foundation) == {
        "layout": "released",
        "drill": "ready",
        **dict.fromkeys(("cage", "pour", "base_set", "pole_set"), "not_ready"),
    }


def test_the_order_is_kept_even_if_a_state_says_otherwise(foundation: Foundation) -> None:
    # A row brought out of order behind the acts: the blockers look at the stage before all the same.
    point = hold_point(foundation, "cage")
    HoldPoint.objects.filter(pk=point.pk).update(state="ready")
    with pytest.raises(Refused, match="Drill is not released: not ready"):
        give_notice(hold_point(foundation, "cage"), NOW)


def test_a_base_waits_until_the_concrete_is_old_enough(foundation: Foundation) -> None:
    poured = at_stage(foundation, "pour", "released")
    looked_at = attempt(poured).looked_at
    point, week = hold_point(foundation, "base_set"), looked_at + 7 * DAY
    with pytest.raises(Refused, match="at 7 d of cure"):
        give_notice(point, week - 2 * HOUR, asked_for=week - timedelta(seconds=1))
    assert give_notice(point, week - 2 * HOUR, asked_for=week).state == "notified"


def test_a_base_is_not_looked_at_before_its_gate_opens(foundation: Foundation) -> None:
    poured = at_stage(foundation, "pour", "released")
    week = attempt(poured).looked_at + 7 * DAY
    point = give_notice(hold_point(foundation, "base_set"), week - 2 * HOUR, asked_for=week)
    with pytest.raises(Refused, match="at 7 d of cure"):
        inspect(point, week - HOUR)
    assert inspect(point, week).state == "inspected"


def test_a_strong_field_cured_break_opens_the_gate_early(foundation: Foundation) -> None:
    point = at_stage(foundation, "pour", "released")
    at = after(foundation)
    load = materials.load(foundation, at=attempt(point).looked_at)
    materials.strength(load, 2999, 3, at, field_cured=True)
    with pytest.raises(Refused, match="at 7 d of cure"):
        give_notice(hold_point(foundation, "base_set"), at)
    materials.strength(load, 3000, 3, at, field_cured=True)  # 75 % of 4000 psi
    assert give_notice(hold_point(foundation, "base_set"), at).state == "notified"


def test_a_break_cured_in_the_laboratory_opens_no_gate(foundation: Foundation) -> None:
    point = at_stage(foundation, "pour", "released")
    at = after(foundation)
    materials.strength(materials.load(foundation, at=attempt(point).looked_at), 4200, 3, at, field_cured=False)
    with pytest.raises(Refused, match="at 7 d of cure"):
        give_notice(hold_point(foundation, "base_set"), at)


def test_one_strong_load_does_not_speak_for_another(foundation: Foundation) -> None:
    point = at_stage(foundation, "pour", "released")
    at, poured = after(foundation), attempt(point).looked_at
    strong, other = (materials.load(foundation, ticket=ticket, at=poured) for ticket in ("T-1", "T-2"))
    materials.strength(strong, 4000, 3, at, field_cured=True)
    with pytest.raises(Refused, match="at 7 d of cure"):
        give_notice(hold_point(foundation, "base_set"), at)
    materials.strength(other, 3100, 3, at, field_cured=True)
    assert give_notice(hold_point(foundation, "base_set"), at).state == "notified"


# ---- what an inspection needs


def test_an_inspection_keeps_every_requirement_with_its_verdict(foundation: Foundation, inspector: Person) -> None:
    point = at_stage(foundation, "cage", "inspected")
    kept = attempt(point)
    rows = requirements(point)
    assert [row.requirement_key for row in kept.measurements.all()] == [row.key for row in rows]
    assert kept.tally == {"conforms": len(rows)}
    assert (kept.inspector, kept.attempt, kept.edition.number) == (inspector, 1, 1)
    assert {photo.view for photo in kept.photos.all()} == {shot.view for shot in photos_for(point)}
    measured = kept.measurements.get(requirement_key="cage.side_cover")
    assert measured.limits["low"] == "3"
    assert {reading["place"] for reading in measured.readings} == {"up-station", "down-station", "left", "right"}


def test_an_inspection_without_a_photo_is_refused_and_names_the_view(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "notified")
    missing, *others = photos_for(point)
    before = standing(foundation.corridor)
    with pytest.raises(Incomplete, match="Photo missing") as caught:
        inspect(point, after(foundation), photos=others)
    assert caught.value.views == [missing.view]
    assert caught.value.faults == {}
    assert standing(foundation.corridor) == before


def test_an_inspection_without_an_answer_is_refused_and_names_the_requirement(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "notified")
    answers = answers_that_conform(point)
    left_out = list(answers)[3]
    before = standing(foundation.corridor)
    with pytest.raises(Incomplete) as caught:
        inspect(point, after(foundation), {key: answer for key, answer in answers.items() if key != left_out})
    assert set(caught.value.faults) == {left_out}
    assert caught.value.views == []
    assert standing(foundation.corridor) == before


def test_a_reading_that_cannot_be_read_is_named_at_its_place(foundation: Foundation) -> None:
    point = at_stage(foundation, "drill", "notified")
    answers = answers_that_conform(point)
    good = answers["drill.depth"].readings
    answers["drill.depth"] = Answered((good[0], good[1]._replace(text="deep"), *good[2:]))
    with pytest.raises(Incomplete) as caught:
        inspect(point, after(foundation), answers)
    assert set(caught.value.faults) == {"drill.depth"}
    assert list(caught.value.faults["drill.depth"]) == [good[1].place]
    assert '"deep" is not read' in caught.value.faults["drill.depth"][good[1].place]


def test_an_unlikely_reading_is_asked_about_and_kept_once_confirmed(foundation: Foundation) -> None:
    point = at_stage(foundation, "drill", "notified")
    answers = answers_that_conform(point)
    long = tuple(each._replace(text="400") for each in answers["drill.depth"].readings)
    with pytest.raises(Incomplete, match="is outside"):
        inspect(point, after(foundation), {**answers, "drill.depth": Answered(long)})
    point = inspect(point, after(foundation), {**answers, "drill.depth": Answered(long, confirmed=True)})
    assert attempt(point).measurements.get(requirement_key="drill.depth").value == "400"


def test_what_was_not_measured_is_sent_with_its_reason_and_not_released(foundation: Foundation) -> None:
    point = at_stage(foundation, "drill", "notified")
    answers = {**answers_that_conform(point), "drill.inflow": Answered(reason="The bailer broke")}
    point = inspect(point, after(foundation), answers)
    assert attempt(point).measurements.get(requirement_key="drill.inflow").reason == "The bailer broke"
    with pytest.raises(Refused, match="Not measured: "):
        release(point, after(foundation))


def test_a_file_that_is_no_photo_refuses_the_whole_inspection(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "notified")
    first, *others = photos_for(point)
    broken = Shot(first.view, SimpleUploadedFile("x.jpg", b"no picture"))
    before = standing(foundation.corridor)
    with pytest.raises(Incomplete, match="Take the photo again") as caught:
        inspect(point, after(foundation), photos=[*others, broken])
    assert caught.value.views == [first.view]
    assert standing(foundation.corridor) == before


def test_a_reading_of_a_wrench_past_its_calibration_goes_to_the_engineer(foundation: Foundation) -> None:
    point = at_stage(foundation, "base_set", "notified")
    at = after(foundation)
    wrench = materials.instrument(foundation.corridor, foundation.corridor.day(at) - DAY)
    answers = answers_that_conform(point)
    answers["base_set.torque"] = answers["base_set.torque"]._replace(instrument=wrench)
    point = inspect(point, at, answers)
    kept = attempt(point).measurements.get(requirement_key="base_set.torque")
    assert (kept.outcome, kept.instrument) == ("refer", wrench)
    assert "past its calibration" in kept.sentence


@pytest.mark.parametrize("text", ["x" * 500, "word " * 90])
def test_a_long_word_is_kept_whole_on_every_database(foundation: Foundation, text: str) -> None:
    point = at_stage(foundation, "drill", "notified")
    answers = {**answers_that_conform(point), "drill.soil": Answered((Typed("", text),))}
    point = inspect(point, after(foundation), answers)
    kept = attempt(point).measurements.get(requirement_key="drill.soil")
    assert (kept.outcome, kept.readings[0]["typed"]) == ("nonconforming", text.strip())
    assert kept.finding is not None
    assert len(kept.finding.title) <= 160


def test_a_value_with_many_digits_is_kept_exact_on_every_database(foundation: Foundation) -> None:
    point = at_stage(foundation, "drill", "notified")
    text = "2.123456789012345678901234567890123456"
    point = inspect(
        point, after(foundation), {**answers_that_conform(point), "drill.location": Answered((Typed("", text),))}
    )
    kept = attempt(point).measurements.get(requirement_key="drill.location")
    numerator, _, denominator = kept.value.partition("/")
    assert int(numerator) * 10**36 == int(text.replace(".", "")) * int(denominator)


# ---- who decides


@pytest.mark.parametrize("act", ["release", "return_inspection", "release_with_condition"])
def test_a_decision_is_refused_to_the_inspector_of_the_attempt(
    foundation: Foundation, engineer: Person, second_engineer: Person, act: str
) -> None:
    point = inspect(at_stage(foundation, "layout", "notified"), after(foundation), by=engineer)
    more = {
        "release": {},
        "return_inspection": {"reason": "Again"},
        "release_with_condition": {"condition": "Coat it", "owner": "Crew 1", "due_on": NOW.date()},
    }[act]
    before = standing(foundation.corridor)
    decide, arguments = getattr(acts, act), {"hold_point": point, "inspection": attempt(point), "at": after(foundation)}
    with pytest.raises(Refused, match="Halvorsen, PE inspected this attempt; another engineer decides on it"):
        decide(by=engineer, client_id=uuid7(), **arguments, **more)
    assert standing(foundation.corridor) == before
    decide(by=second_engineer, client_id=uuid7(), **arguments, **more)
    assert Decision.objects.get().by == second_engineer


def test_an_engineer_who_inspected_an_earlier_attempt_may_decide_on_a_later_one(
    foundation: Foundation, engineer: Person, second_engineer: Person
) -> None:
    point = inspect(at_stage(foundation, "layout", "notified"), after(foundation), by=engineer)
    point = send_back(point, after(foundation), by=second_engineer)
    point = inspect(point, after(foundation))
    assert release(point, after(foundation), by=engineer).state == "released"


def test_a_release_keeps_who_decided_when_and_where_it_is_entered(foundation: Foundation, engineer: Person) -> None:
    point = at_stage(foundation, "layout", "released")
    decision = attempt(point).decision
    entry = Entry.objects.get(log=foundation.corridor_id, sequence=decision.entry)
    assert (decision.kind, decision.by, decision.at) == ("release", engineer, point.since)
    assert (entry.act, entry.subject, entry.actor_name) == ("release", "LP-001/layout", "R. Halvorsen, PE")


def test_the_release_of_an_earlier_attempt_is_refused(foundation: Foundation, engineer: Person) -> None:
    point = inspect(at_stage(foundation, "layout", "returned"), after(foundation))
    first = point.inspections.get(attempt=1)
    with pytest.raises(Refused, match="Attempt 1 is not the last"):
        acts.release(hold_point=point, inspection=first, by=engineer, at=after(foundation), client_id=uuid7())


def test_the_inspection_of_another_hold_point_releases_nothing(
    foundation: Foundation, pedestal: Foundation, engineer: Person
) -> None:
    point, other = (at_stage(each, "layout", "inspected") for each in (foundation, pedestal))
    before = standing(foundation.corridor)
    with pytest.raises(Refused, match="PB-001"):
        acts.release(hold_point=point, inspection=attempt(other), by=engineer, at=after(foundation), client_id=uuid7())
    assert standing(foundation.corridor) == before


def test_what_refers_is_released_only_with_the_reason_why(foundation: Foundation) -> None:
    point = at_stage(foundation, "base_set", "notified")
    row, answers = referring_at(point)
    point = inspect(point, after(foundation), answers)
    assert attempt(point).measurements.get(requirement_key=row.key).outcome == "refer"
    for nothing in ("", "   "):
        with pytest.raises(Refused, match=f"Say why this is acceptable: {row.title}"):
            release(point, after(foundation), reason=nothing)
    point = release(point, after(foundation), reason="Contact is full when tightened")
    assert attempt(point).decision.reason == "Contact is full when tightened"


@pytest.mark.parametrize("reason", ["", "  "])
def test_a_return_needs_its_reason(foundation: Foundation, reason: str) -> None:
    point = at_stage(foundation, "layout", "inspected")
    with pytest.raises(Refused, match="Give the reason"):
        send_back(point, after(foundation), reason=reason)


def test_after_a_return_the_hold_point_is_looked_at_again(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "returned")
    assert attempt(point).decision.kind == "return"
    point = release(inspect(point, after(foundation)), after(foundation))
    assert [(each.attempt, each.decision.kind) for each in point.inspections.all()] == [(1, "return"), (2, "release")]


# ---- conditions


def with_condition(foundation: Foundation, engineer: Person, **changed: str) -> Condition:
    point = at_stage(foundation, "layout", "inspected")
    said = {"condition": "Move the stake clear of the drip line", "owner": "Crew 1", **changed}
    acts.release_with_condition(
        hold_point=point,
        inspection=attempt(point),
        due_on=NOW.date(),
        by=engineer,
        at=after(foundation),
        client_id=uuid7(),
        **said,
    )
    return Condition.objects.get()


def test_a_release_with_condition_says_what_by_whom_until_when(foundation: Foundation, engineer: Person) -> None:
    condition = with_condition(foundation, engineer)
    assert hold_point(foundation, "layout").state == "released"
    assert condition.decision.kind == "release_with_condition"
    assert (condition.text, condition.owner, condition.due_on, condition.met_at) == (
        "Move the stake clear of the drip line",
        "Crew 1",
        NOW.date(),
        None,
    )


@pytest.mark.parametrize("empty", [{"condition": " "}, {"owner": " "}])
def test_a_condition_without_words_is_refused(foundation: Foundation, engineer: Person, empty: dict[str, str]) -> None:
    with pytest.raises(Refused, match="Say what must still happen"):
        with_condition(foundation, engineer, **empty)
    assert hold_point(foundation, "layout").state == "inspected"


def test_a_condition_is_met_once_and_says_how_it_shows(
    foundation: Foundation, engineer: Person, inspector: Person, foreman: Person
) -> None:
    condition = with_condition(foundation, engineer)
    said = {"condition": condition, "at": after(foundation)}
    with pytest.raises(Refused, match="inspector or resident engineer or project office"):
        acts.meet_condition(how="Moved", by=foreman, client_id=uuid7(), **said)
    with pytest.raises(Refused, match="Say how it shows"):
        acts.meet_condition(how=" ", by=inspector, client_id=uuid7(), **said)
    acts.meet_condition(how="Stake 4 ft off, photo", by=inspector, client_id=uuid7(), **said)
    condition.refresh_from_db()
    assert (condition.met_by, condition.met_how) == (inspector, "Stake 4 ft off, photo")
    with pytest.raises(Refused, match="met already"):
        acts.meet_condition(how="Again", by=engineer, client_id=uuid7(), **said)


# ---- findings hold


@pytest.mark.parametrize("grade", ["major", "critical"])
def test_a_nonconforming_reading_raises_a_finding_that_holds_the_release(foundation: Foundation, grade: str) -> None:
    point = at_stage(foundation, "cage", "notified")
    row, answers = nonconforming_at(point, grade)
    point = inspect(point, after(foundation), answers)
    finding = Finding.objects.get()
    assert (finding.requirement_key, finding.grade, finding.state, finding.holds) == (row.key, grade, "open", True)
    assert attempt(point).measurements.get(requirement_key=row.key).finding == finding
    with pytest.raises(Refused, match=f"F-001, {grade}, waits for a decision"):
        release(point, after(foundation))


def test_a_minor_finding_does_not_hold_the_next_stage(foundation: Foundation) -> None:
    at_stage(foundation, "drill", "ready")
    finding = steps.raised(foundation, "layout", "minor")
    assert not finding.holds
    assert give_notice(hold_point(foundation, "drill"), after(foundation)).state == "notified"


def test_an_open_finding_holds_every_stage_of_its_foundation_until_somebody_decides(foundation: Foundation) -> None:
    at_stage(foundation, "drill", "ready")
    finding = steps.raised(foundation, "cage", "major")
    with pytest.raises(Refused, match="F-001, major, waits for a decision"):
        give_notice(hold_point(foundation, "drill"), after(foundation))
    steps.decided(finding, "rework")
    assert give_notice(hold_point(foundation, "drill"), after(foundation)).state == "notified"


def test_a_decided_finding_still_holds_the_stages_above_it(foundation: Foundation) -> None:
    at_stage(foundation, "drill", "ready")
    steps.decided(steps.raised(foundation, "layout", "major"), "rework")
    with pytest.raises(Refused, match="F-001, major, is open"):
        give_notice(hold_point(foundation, "drill"), after(foundation))


def test_a_finding_holds_no_other_foundation(foundation: Foundation, pedestal: Foundation) -> None:
    steps.raised(foundation, "layout", "critical")
    assert at_stage(pedestal, "layout", "released").state == "released"


def test_a_concession_leads_to_release_on_the_same_attempt(foundation: Foundation) -> None:
    point = at_stage(foundation, "cage", "notified")
    _, answers = nonconforming_at(point, "major")
    point = inspect(point, after(foundation), answers)
    finding = steps.decided(Finding.objects.select_related("corridor").get(), "concession", after(foundation))
    with pytest.raises(Refused, match="F-001, major, is open"):
        release(point, after(foundation))
    steps.closed(finding)
    assert release(point, after(foundation)).state == "released"


def test_rework_is_verified_looked_at_again_and_released(foundation: Foundation) -> None:
    point = at_stage(foundation, "cage", "notified")
    _, answers = nonconforming_at(point, "critical")
    point = inspect(point, after(foundation), answers)
    finding = steps.decided(Finding.objects.select_related("corridor").get(), "rework", after(foundation))
    point = send_back(point, after(foundation))
    finding = steps.closed(steps.verified(steps.answered(finding)))
    point = inspect(point, max(after(foundation), finding.since + HOUR))
    assert attempt(point).attempt == 2
    assert release(point, after(foundation)).state == "released"
    assert Finding.objects.count() == 1


def test_corrected_work_is_not_released_on_the_attempt_that_was_nonconforming(foundation: Foundation) -> None:
    point = at_stage(foundation, "cage", "notified")
    _, answers = nonconforming_at(point, "critical")
    point = inspect(point, after(foundation), answers)
    finding = steps.decided(Finding.objects.select_related("corridor").get(), "rework", after(foundation))
    steps.closed(steps.verified(steps.answered(finding)))
    with pytest.raises(Refused, match="was corrected after F-001: inspect again"):
        release(point, after(foundation))


def test_the_same_fault_found_again_stays_one_finding(foundation: Foundation) -> None:
    point = at_stage(foundation, "cage", "notified")
    _, answers = nonconforming_at(point, "critical")
    point = inspect(point, after(foundation), answers)
    steps.decided(Finding.objects.select_related("corridor").get(), "rework", after(foundation))
    point = inspect(send_back(point, after(foundation)), after(foundation), answers)
    assert Finding.objects.count() == 1
    assert {
        row.finding.name for each in point.inspections.all() for row in each.measurements.exclude(finding=None)
    } == {"F-001"}


# ---- disturbed


def test_a_reopening_pulls_back_everything_that_stands_on_it(foundation: Foundation) -> None:
    at_stage(foundation, "pour", "inspected")
    point = reopen(hold_point(foundation, "layout"), after(foundation))
    assert states(foundation) == {
        "layout": "reopened",
        "drill": "reopened",
        "cage": "reopened",
        "pour": "not_ready",
        "base_set": "not_ready",
        "pole_set": "not_ready",
    }
    kept = Reopening.objects.get()
    assert (kept.hold_point, kept.reason, kept.pulled_back) == (point, "Struck by a truck", ["drill", "cage", "pour"])
    assert Decision.objects.filter(kind="release").count() == 3


@pytest.mark.parametrize("state", ["ready", "notified", "inspected", "returned"])
def test_a_stage_under_way_falls_back_to_not_ready(foundation: Foundation, state: str) -> None:
    at_stage(foundation, "drill", state)
    reopen(hold_point(foundation, "layout"), after(foundation))
    assert states(foundation)["drill"] == "not_ready"
    assert hold_point(foundation, "drill").asked_for is None


def test_what_was_pulled_back_is_gone_through_again_in_order(foundation: Foundation) -> None:
    at_stage(foundation, "cage", "inspected")
    reopen(hold_point(foundation, "layout"), after(foundation))
    with pytest.raises(Refused, match="Layout is not released: reopened"):
        give_notice(hold_point(foundation, "drill"), after(foundation))
    assert at_stage(foundation, "cage", "released").attempts == 2
    assert states(foundation)["pour"] == "ready"


def test_a_reopening_needs_its_reason(foundation: Foundation) -> None:
    point = at_stage(foundation, "layout", "released")
    with pytest.raises(Refused, match="Give the reason"):
        reopen(point, after(foundation), reason=" ")


# ---- abandoned


def give_up(foundation: Foundation, by: Person, **more: object) -> None:
    acts.abandon(
        foundation=foundation,
        reason="Rock at 4 ft",
        by=by,
        at=after(foundation),
        client_id=uuid7(),
        **more,  # type: ignore[arg-type]
    )
    foundation.refresh_from_db()


def test_an_abandoned_foundation_leaves_the_counts_and_stays_in_the_record(
    foundation: Foundation, pedestal: Foundation, engineer: Person
) -> None:
    at_stage(foundation, "drill", "inspected")
    finding = steps.raised(foundation, "drill", "critical")
    give_up(foundation, engineer)
    tally = foundation.corridor.tally
    tally.refresh_from_db()
    assert (tally.foundations, tally.abandoned, tally.findings) == (1, 1, {})
    assert sum(sum(each.values()) for each in tally.hold_points.values()) == 6
    finding.refresh_from_db()
    assert (finding.state, finding.closed_by) == ("closed", engineer)
    assert Inspection.objects.filter(hold_point__foundation=foundation).count() == 2
    assert Entry.objects.filter(act="abandon", mark="LP-001").get().payload["reason"] == "Rock at 4 ft"


def test_a_successor_stands_where_it_is_told_and_begins_at_layout(foundation: Foundation, engineer: Person) -> None:
    give_up(foundation, engineer, successor={"mark": "LP-001R", "station": "105+28.00"})
    new = Foundation.objects.get(mark="LP-001R")
    assert new.replaces == foundation
    assert (str(new.station_ft), new.design, new.depth_in) == ("10528.00", foundation.design, foundation.depth_in)
    assert states(new)["layout"] == "ready"
    assert foundation.corridor.foundations.standing().count() == 1


@pytest.mark.parametrize(
    "fields", [{"mark": "LP-001"}, {"mark": "lp 1?"}, {"station": "105+28.00"}, {"mark": "LP-001R", "station": "9+00"}]
)
def test_a_wrong_successor_refuses_the_whole_act(
    foundation: Foundation, engineer: Person, fields: dict[str, str]
) -> None:
    before = standing(foundation.corridor)
    with pytest.raises(Refused):
        give_up(foundation, engineer, successor=fields)
    assert standing(foundation.corridor) == before


def test_an_abandonment_needs_its_reason_and_happens_once(foundation: Foundation, engineer: Person) -> None:
    with pytest.raises(Refused, match="Give the reason"):
        acts.abandon(foundation=foundation, reason=" ", by=engineer, at=NOW, client_id=uuid7())
    give_up(foundation, engineer)
    with pytest.raises(Refused, match="abandoned already"):
        give_up(foundation, engineer)


@pytest.mark.parametrize("state", ["ready", "notified", "inspected", "returned", "released", "reopened"])
def test_nothing_moves_at_an_abandoned_foundation(foundation: Foundation, engineer: Person, state: str) -> None:
    from tests.factories.doing import do, hold_point_acts

    point = at_stage(foundation, "layout", state)
    give_up(foundation, engineer)
    point = hold_point(foundation, "layout")
    before = standing(foundation.corridor)
    inspection = point.inspections.last()
    for name, arguments in hold_point_acts(point, inspection, after(foundation)).items():
        by = corridors.member(foundation.corridor, "inspector" if name == "submit_inspection" else "engineer")
        with pytest.raises(Refused):
            do(name, point, by, after(foundation), **arguments)
        assert standing(foundation.corridor) == before, name


# ---- reasons


def test_the_reasons_of_the_page_are_the_reasons_of_the_act(foundation: Foundation, engineer: Person) -> None:
    point = at_stage(foundation, "cage", "notified")
    _, answers = nonconforming_at(point, "critical")
    point = inspect(point, after(foundation), answers)
    shown = blockers.to_release(blockers.situation(point, after(foundation)), attempt(point), engineer, "")
    with pytest.raises(Refused) as caught:
        release(point, after(foundation))
    assert list(caught.value.reasons) == shown


def test_situations_ask_the_same_number_of_queries_for_two_and_for_ten(
    corridor: Corridor, django_assert_max_num_queries: object
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    made = corridors.bring_in(corridor, [f"LP-{number:03d}" for number in range(1, 11)])
    asked = []
    for some in (made[:2], made):
        points = HoldPoint.objects.filter(foundation__in=some).select_related(
            "foundation__design", "foundation__corridor__edition"
        )
        with CaptureQueriesContext(
            connection,
        ) as queries:
            assert len(blockers.situations(points, NOW)) == len(some) * 6
        asked.append(len(queries))
    assert asked[0] == asked[1]


def test_photos_of_an_inspection_belong_to_its_corridor(foundation: Foundation) -> None:
    at_stage(foundation, "layout", "inspected")
    assert Photo.objects.exists()
    assert set(Attachment.objects.values_list("log", flat=True)) == {foundation.corridor_id}
    assert picture().name == "photo.png"

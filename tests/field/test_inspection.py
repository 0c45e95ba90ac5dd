"""The inspection page: drawn from the edition, judged at once, sent once, nothing typed is lost."""

import re
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from html import unescape
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext

from apps.corridor.models import Corridor, Foundation
from apps.findings.models import Finding
from apps.holdpoints.models import HoldPoint, Inspection, Measurement
from apps.materials.models import Instrument
from apps.people.models import Person
from apps.record.models import Attachment
from tests.factories.corridor import bring_in
from tests.factories.findings import raised
from tests.factories.holdpoints import hold_point, requirements
from tests.factories.materials import load
from tests.field.conftest import filled, inspect_url

pytestmark = pytest.mark.django_db
Stand = Callable[..., HoldPoint]


@pytest.fixture
def drill(foundation: Foundation, stand_at: Stand) -> HoldPoint:
    """Drill of LP-001, asked for."""
    return stand_at(foundation, "drill", "notified")


@pytest.fixture
def layout(foundation: Foundation, stand_at: Stand) -> HoldPoint:
    """Layout of LP-001, asked for."""
    return stand_at(foundation, "layout", "notified")


def page_of(answer: Any) -> str:
    """Return a page's text as a reader has it."""
    return unescape(answer.content.decode())


def measured(key: str) -> Measurement:
    """Return the one measurement of a requirement."""
    return Measurement.objects.get(requirement_key=key)


# ---- drawn from the edition


def test_every_requirement_of_the_stage_has_its_check_with_title_and_limit(
    drill: HoldPoint, as_person: Any, inspector: Person
) -> None:
    page = page_of(as_person(inspector).get(inspect_url(drill)))
    rows = requirements(drill)
    assert len(rows) > 10
    for row in rows:
        assert f'id="check-{row.key.replace(".", "-")}"' in page
        assert row.title in page
    assert page.count('class="ask"') == len(rows)
    assert "At least 8 ft" in page  # the ordered depth of LP-001 in tests/factories/corridor.py


def test_no_answer_is_chosen_beforehand(drill: HoldPoint, as_person: Any, inspector: Person) -> None:
    page = page_of(as_person(inspector).get(inspect_url(drill)))
    assert re.search(r'<input type="radio"[^>]*value="not seen"', page)
    assert not re.search(r'<input type="radio"[^>]*checked', page)


def test_a_caution_stands_before_the_fields_that_it_guards(
    drill: HoldPoint, as_person: Any, inspector: Person, corridor: Corridor
) -> None:
    page = page_of(as_person(inspector).get(inspect_url(drill)))
    cautions = corridor.edition.stage_cautions("drill")
    for row in requirements(drill):
        if caution := cautions.get(row.spec.caution):
            assert page.index(caution["bold"]) < page.index(f'id="check-{row.key.replace(".", "-")}"')
    for caution in corridor.edition.cautions:
        assert page.index(caution["bold"]) < page.index('class="ask"')


def test_the_source_of_a_limit_is_told_on_demand(layout: HoldPoint, as_person: Any, inspector: Person) -> None:
    page = page_of(as_person(inspector).get(inspect_url(layout)))
    assert "Contract plans, schedules and approved drawings, current revision, list of current revisions" in page


def test_cage_and_pour_stand_under_sub_headings(
    foundation: Foundation, stand_at: Stand, as_person: Any, inspector: Person
) -> None:
    page = page_of(as_person(inspector).get(inspect_url(stand_at(foundation, "cage", "notified"))))
    headings = re.findall(r"<h3>(.*?)</h3>", page)
    assert headings == ["Bars, spiral and cover", "Bolts and templates", "Conduits", "Bond and ground", "Photos"]


def test_the_number_of_queries_does_not_grow_with_the_requirements(
    corridor: Corridor, stand_at: Stand, as_person: Any, inspector: Person
) -> None:
    one, two = bring_in(corridor, ["LP-011", "LP-012"])
    points = [stand_at(one, "drill", "notified"), stand_at(two, "cage", "notified")]
    client, counts = as_person(inspector), []
    client.get(inspect_url(points[0]))
    for point in points:
        with CaptureQueriesContext(connection) as caught:
            client.get(inspect_url(point))
        counts.append(len(caught))
    assert len(requirements(points[1])) > len(requirements(points[0])) + 20
    # Each stage has gates of its own: one query for the ticket of a drill, two for the open hole of a cage.
    assert (counts[1] - counts[0], max(counts)) <= (1, 16)


# ---- judged at once


def judged(client: Any, point: HoldPoint, key: str, **fields: str) -> str:
    """Post one typed check as htmx does; return the answer."""
    answer = client.post(f"{inspect_url(point, 'judge')}?key={key}", fields)
    assert answer.status_code == 200
    return page_of(answer)


@pytest.mark.parametrize(
    ("text", "unit", "headline"),
    [
        ("8 ft 1 7/16 in", "ft", "Conforms, 1 7/16 in to spare"),
        ("8'-1 7/16\"", "ft", "Conforms, 1 7/16 in to spare"),
        ("8 1 7/16", "in", "Conforms, 1 7/16 in to spare"),
        ("97.4375", "in", "Conforms, 1 7/16 in to spare"),
        ("97 7/16", "in", "Is it 97 ft 7/16 in, or 97 7/16 in?"),
        # 8 ft is 2438.4 mm exactly (inch of 25.4 mm: NIST SP 811, B.6), so 2436 mm is 2.4 mm short.
        ("2436", "mm", "2.4 mm short"),
        ("2438.4", "mm", "Conforms, at the limit"),
    ],
)
def test_a_depth_is_judged_as_typed_in_whatever_unit(
    drill: HoldPoint, as_person: Any, inspector: Person, text: str, unit: str, headline: str
) -> None:
    places = next(row.spec.places for row in requirements(drill) if row.key == "drill.depth")
    fields = {f"r:drill.depth:{place}": text for place in places or ("",)} | {"u:drill.depth": unit}
    assert headline in judged(as_person(inspector), drill, "drill.depth", **fields)


def test_an_unreadable_value_is_questioned_at_its_place(drill: HoldPoint, as_person: Any, inspector: Person) -> None:
    place = next(row.spec.places or ("",) for row in requirements(drill) if row.key == "drill.depth")[0]
    said = judged(as_person(inspector), drill, "drill.depth", **{f"r:drill.depth:{place}": "abc"})
    assert '"abc" is not read' in said
    assert "Conforms" not in said


def test_a_slip_of_units_is_asked_about_and_the_tick_answers_it(
    drill: HoldPoint, as_person: Any, inspector: Person
) -> None:
    client, key = as_person(inspector), "drill.diameter"
    places = next(row.spec.places or ("",) for row in requirements(drill) if row.key == key)
    fields = {f"r:{key}:{place}": "610" for place in places} | {f"u:{key}": "in"}
    asked = judged(client, drill, key, **fields)
    assert "Please look again" in asked
    assert "data-outcome" not in asked, "a doubted value is neither judged nor erased"
    token = re.search(rf'name="sure:{key}" value="([^"]+)"', asked)
    assert token
    answered = judged(client, drill, key, **fields, **{f"sure:{key}": token[1]})
    assert "data-outcome" in answered
    assert f'value="{token[1]}" checked' in answered
    changed = fields | {f"r:{key}:{places[0]}": "620", f"sure:{key}": token[1]}
    assert "data-outcome" not in judged(client, drill, key, **changed), "another reading is asked about anew"


def test_what_cannot_be_is_not_kept_whoever_says_so(drill: HoldPoint, as_person: Any, inspector: Person) -> None:
    client, key = as_person(inspector), "drill.diameter"
    places = next(row.spec.places or ("",) for row in requirements(drill) if row.key == key)
    fields = {f"r:{key}:{place}": "99999999999" for place in places} | {f"u:{key}": "in"}
    asked = judged(client, drill, key, **fields)
    assert "it is not kept. Type it again." in asked
    token = re.search(rf'name="sure:{key}" value="([^"]+)"', asked)
    sure = {f"sure:{key}": token[1]} if token else {}
    assert "data-outcome" not in judged(client, drill, key, **fields, **sure)


def test_a_station_is_read_as_the_stake_has_it(layout: HoldPoint, as_person: Any, inspector: Person) -> None:
    # LP-001 stands at 105+20.00: tests/factories/corridor.py, cells().
    client, station = as_person(inspector), layout.foundation.station_ft
    whole, rest = divmod(int(station), 100)
    said = judged(client, layout, "layout.station", **{"r:layout.station:": f"{whole}+{rest:02d}.40"})
    assert "Conforms" in said
    assert "0.6 ft to spare" in said
    assert "0.5 ft over" in judged(
        client, layout, "layout.station", **{"r:layout.station:": f"{whole}+{rest + 1:02d}.50"}
    )
    assert '"1+2+3" is not' in judged(client, layout, "layout.station", **{"r:layout.station:": "1+2+3"})


def test_what_is_still_open_is_counted_with_every_answer(drill: HoldPoint, as_person: Any, inspector: Person) -> None:
    client, total = as_person(inspector), len(requirements(drill))
    assert f"<b data-open-checks>{total}</b>" in page_of(client.get(inspect_url(drill)))
    assert f"<b data-open-checks>{total - 1}</b>" in judged(client, drill, "drill.cover", **{"r:drill.cover:": "yes"})


def test_judging_keeps_nothing(drill: HoldPoint, as_person: Any, inspector: Person) -> None:
    judged(as_person(inspector), drill, "drill.cover", **{"r:drill.cover:": "yes"})
    assert not Measurement.objects.filter(stage="drill").exists()
    assert hold_point(drill.foundation, "drill").state == "notified"


def test_an_unknown_requirement_is_not_found(drill: HoldPoint, as_person: Any, inspector: Person) -> None:
    assert as_person(inspector).post(f"{inspect_url(drill, 'judge')}?key=drill.nothing").status_code == 404


# ---- sent


def test_a_whole_form_is_sent_and_its_receipt_shown(drill: HoldPoint, as_person: Any, inspector: Person) -> None:
    client = as_person(inspector)
    answer = client.post(inspect_url(drill), filled(drill))
    assert (answer.status_code, answer.url) == (302, inspect_url(drill, "sent", 1))
    sent = Inspection.objects.get(hold_point=drill)
    assert sent.count("conforms") == len(requirements(drill))
    page = page_of(client.get(answer.url))
    assert f"Arrived, entry {sent.entry}" in page
    assert hold_point(drill.foundation, "drill").state == "inspected"


def test_fractions_feet_and_inches_and_millimetres_are_kept_as_typed(
    drill: HoldPoint, as_person: Any, inspector: Person
) -> None:
    places = next(row.spec.places or ("",) for row in requirements(drill) if row.key == "drill.depth")
    texts = ["8 ft 1 7/16 in", "97 7/16 in", "2500 mm"]
    fields = {f"r:drill.depth:{place}": texts[n % 3] for n, place in enumerate(places)}
    as_person(inspector).post(inspect_url(drill), filled(drill) | fields)
    kept = measured("drill.depth").readings
    assert [each["typed"] for each in kept] == [texts[n % 3] for n in range(len(places))]


def test_an_incomplete_form_loses_nothing_and_names_what_is_missing(
    drill: HoldPoint, as_person: Any, inspector: Person
) -> None:
    client, fields = as_person(inspector), filled(drill) | {"note": "Gate locked at <noon>", "why:drill.soil": "dark"}
    dropped = next(row for row in requirements(drill) if row.spec.kind == "check")
    fields.pop(f"r:{dropped.key}:")
    answer = client.post(inspect_url(drill), fields)
    assert answer.status_code == 422
    page = page_of(answer)
    assert f'<a href="#check-{dropped.key.replace(".", "-")}">{dropped.title}: No reading yet.</a>' in page
    assert "Gate locked at <noon>" in page
    assert 'value="dark"' in page
    for name, value in fields.items():
        if name.startswith("r:") and value not in {"yes", "no"}:
            assert re.search(rf'name="{re.escape(name)}" value="{re.escape(value)}"', page), name
    assert fields["client_id"] in page
    assert not Inspection.objects.filter(hold_point=drill).exists()


def test_photos_of_a_refused_form_are_taken_already(drill: HoldPoint, as_person: Any, inspector: Person) -> None:
    client, fields = as_person(inspector), filled(drill)
    short = {name: value for name, value in fields.items() if name != "r:drill.cover:"}
    refused = page_of(client.post(inspect_url(drill), short))
    assert "Photo missing" not in refused
    words = {name: value for name, value in fields.items() if not name.startswith("p:")}
    assert client.post(inspect_url(drill), words).status_code == 302
    photos = Inspection.objects.get(hold_point=drill).photos
    assert photos.count() == len([name for name in fields if name.startswith("p:")])


def test_photos_of_another_form_are_nobodys(drill: HoldPoint, as_person: Any, inspector: Person) -> None:
    client, fields = as_person(inspector), filled(drill)
    client.post(inspect_url(drill), fields | {"action": "judge"})
    assert str(fields["client_id"]) in client.session["photos"]
    other = filled(drill, photos=False)
    assert "Photo missing" in page_of(client.post(inspect_url(drill), other))


def test_a_file_that_is_no_picture_is_refused_with_its_view(
    drill: HoldPoint, as_person: Any, inspector: Person
) -> None:
    fields = filled(drill)
    view = next(name for name in fields if name.startswith("p:"))
    answer = as_person(inspector).post(inspect_url(drill), fields | {view: SimpleUploadedFile("plan.pdf", b"%PDF-1.7")})
    assert answer.status_code == 422
    assert f'href="#photo-{view[2:]}"' in page_of(answer)


def test_judging_the_whole_page_shows_verdicts_and_sends_nothing(
    drill: HoldPoint, as_person: Any, inspector: Person
) -> None:
    answer = as_person(inspector).post(inspect_url(drill), filled(drill) | {"action": "judge"})
    assert answer.status_code == 200
    assert page_of(answer).count('data-outcome="conforms"') == len(requirements(drill))
    assert not Inspection.objects.filter(hold_point=drill).exists()


def test_a_double_send_is_one_inspection(drill: HoldPoint, as_person: Any, inspector: Person) -> None:
    client, drawn = as_person(inspector), page_of(as_person(inspector).get(inspect_url(drill)))
    stamp = re.search(r'name="looked_at" value="([^"]+)"', drawn)
    assert stamp
    fields = filled(drill) | {"looked_at": stamp[1]}
    first = client.post(inspect_url(drill), fields)
    for name, value in fields.items():
        if name.startswith("p:"):
            value.seek(0)
    second = client.post(inspect_url(drill), fields)
    assert (first.status_code, second.status_code, first.url) == (302, 302, second.url)
    assert Inspection.objects.filter(hold_point=drill).count() == 1


def test_a_nonconforming_reading_is_sent_and_raises_its_finding(
    drill: HoldPoint, as_person: Any, inspector: Person
) -> None:
    client = as_person(inspector)
    answer = client.post(inspect_url(drill), filled(drill) | {"r:drill.cover:": "no"})
    assert answer.status_code == 302
    finding = Finding.objects.get()
    assert finding.requirement_key == "drill.cover"
    page = page_of(client.get(answer.url))
    assert finding.name in page
    assert "Nonconforming" in page


def test_a_reason_stands_for_a_reading(drill: HoldPoint, as_person: Any, inspector: Person) -> None:
    fields = filled(drill) | {"r:drill.soil:": "", "why:drill.soil": "Spoil was hauled off"}
    assert as_person(inspector).post(inspect_url(drill), fields).status_code == 302
    kept = measured("drill.soil")
    assert (kept.outcome, kept.reason) == ("not_measured", "Spoil was hauled off")


def test_an_instrument_past_its_calibration_says_so_and_its_reading_goes_to_the_engineer(
    drill: HoldPoint, as_person: Any, inspector: Person, corridor: Corridor
) -> None:
    old = Instrument.objects.create(
        corridor=corridor, name="Tape 7", kind="tape", needs_calibration=True, calibrated_until=date(2026, 1, 31)
    )
    client = as_person(inspector)
    assert "Tape 7, past calibration: 31 Jan 2026" in page_of(client.get(inspect_url(drill)))
    client.post(inspect_url(drill), filled(drill) | {"i:drill.depth": str(old.pk)})
    assert measured("drill.depth").outcome == "refer"
    assert measured("drill.depth").instrument == old


def test_what_is_there_instead_of_a_named_choice_is_kept_as_typed(
    layout: HoldPoint, as_person: Any, inspector: Person
) -> None:
    client, key = as_person(inspector), "layout.offset_side"
    said = judged(client, layout, key, **{f"r:{key}:": "other", f"o:{key}:": "the median"})
    assert 'data-outcome="nonconforming"' in said
    page = page_of(
        client.post(inspect_url(layout), {f"r:{key}:": "other", f"o:{key}:": "the median", "action": "judge"})
    )
    assert 'value="the median"' in page
    assert re.search(rf'name="r:{key}:" value="other" checked', page)


def test_a_device_clock_that_runs_ahead_is_held_at_the_servers(
    drill: HoldPoint, as_person: Any, inspector: Person
) -> None:
    as_person(inspector).post(inspect_url(drill), filled(drill) | {"looked_at": "2031-01-01T00:00:00Z"})
    sent = Inspection.objects.get(hold_point=drill)
    assert sent.looked_at == sent.received_at


# ---- who, and when not


@pytest.mark.parametrize("role", ["foreman", "office", "auditor"])
def test_others_see_why_and_no_form(drill: HoldPoint, as_person: Any, request: Any, role: str) -> None:
    client = as_person(request.getfixturevalue(role))
    answer = client.get(inspect_url(drill))
    assert answer.status_code == 200
    assert "Readings are taken by inspectors and the engineer" in page_of(answer)
    assert 'name="client_id"' not in page_of(answer)
    kept = Attachment.objects.count()
    assert client.post(inspect_url(drill), filled(drill)).status_code == 403
    assert Attachment.objects.count() == kept
    assert not Inspection.objects.filter(hold_point=drill).exists()


def test_a_stranger_finds_nothing(drill: HoldPoint, as_person: Any, stranger: Person) -> None:
    client = as_person(stranger)
    assert client.get(inspect_url(drill)).status_code == 404
    assert client.post(inspect_url(drill), {"action": "send"}).status_code == 404
    assert client.post(f"{inspect_url(drill, 'judge')}?key=drill.cover").status_code == 404
    assert client.get(inspect_url(drill, "sent", 1)).status_code == 404


def test_an_unknown_mark_or_stage_is_not_found(drill: HoldPoint, as_person: Any, inspector: Person) -> None:
    client, url = as_person(inspector), inspect_url(drill)
    assert client.get(url.replace("LP-001", "LP-999")).status_code == 404
    assert client.get(url.replace("/drill/", "/paint/")).status_code == 404
    assert client.get(inspect_url(drill, "sent", 9)).status_code == 404


def test_a_stage_that_waits_for_the_one_before_says_so(drill: HoldPoint, as_person: Any, inspector: Person) -> None:
    page = page_of(as_person(inspector).get(inspect_url(hold_point(drill.foundation, "cage"))))
    assert "Drill is not released: notified." in page
    assert 'class="ask"' not in page


def test_a_held_foundation_says_by_which_finding(drill: HoldPoint, as_person: Any, inspector: Person) -> None:
    finding = raised(drill.foundation, grade="critical", stage="drill")
    page = page_of(as_person(inspector).get(inspect_url(drill)))
    assert f"{finding.name}, critical, waits for a decision" in page
    assert 'class="ask"' not in page


def test_an_inspection_that_a_colleague_sent_first_is_refused_with_everything_kept(
    drill: HoldPoint, as_person: Any, inspector: Person, second_inspector: Person
) -> None:
    assert as_person(second_inspector).post(inspect_url(drill), filled(drill)).status_code == 302
    answer = as_person(inspector).post(inspect_url(drill), filled(drill) | {"note": "Second look"})
    assert answer.status_code == 409
    assert "is inspected, awaiting release since" in page_of(answer)
    assert "Second look" in page_of(answer)
    assert Inspection.objects.filter(hold_point=drill).count() == 1


def test_the_camera_is_asked_for_each_view(drill: HoldPoint, as_person: Any, inspector: Person) -> None:
    page = page_of(as_person(inspector).get(inspect_url(drill)))
    slots = re.findall(r'<input type="file" name="p:(\w+)" accept="image/\*" capture="environment">', page)
    assert set(slots) == {view for row in requirements(drill) for view in row.spec.evidence}


# ---- what is on file


def test_the_form_is_filled_in_from_the_papers_and_says_so(
    foundation: Foundation, stand_at: Stand, as_person: Any, inspector: Person
) -> None:
    pour = stand_at(foundation, "pour", "notified")
    load(foundation, slump_in=Decimal("6.50"))
    page = page_of(as_person(inspector).get(inspect_url(pour)))
    assert 'name="r:pour.slump:" value="6.5"' in page
    assert "On file: 6.5 in, load T-1001." in page


def test_what_was_typed_stands_against_what_is_on_file(
    foundation: Foundation, stand_at: Stand, as_person: Any, inspector: Person
) -> None:
    pour = stand_at(foundation, "pour", "notified")
    load(foundation, slump_in=Decimal("6.50"))
    said = filled(pour) | {"r:pour.slump:": "7 1/4"}
    as_person(inspector).post(inspect_url(pour), said)
    assert measured("pour.slump").value == "29/4"

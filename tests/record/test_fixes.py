"""Where a phone says that it stands: whole and in range, or a sentence that names what is wrong."""

from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

import pytest

from apps.record.fixes import FIELDS, Fix, NotAFix, faults_of, read

AT = datetime(2027, 3, 9, 16, 20, tzinfo=UTC)
WHOLE = {
    "lat": "34.1204567",
    "lon": "-104.3304",
    "accuracy": "12.04",
    "at": "2027-03-09T16:20:00.000Z",
    "sent": "2027-03-09T16:20:40.400Z",
}
KEPT = Fix(Decimal("34.1204567"), Decimal("-104.3304000"), Decimal("12.1"), AT, 40)


def test_a_whole_position_is_read_with_its_age_by_the_phones_own_clock() -> None:
    assert set(WHOLE) == set(FIELDS)
    assert read(WHOLE) == KEPT
    assert faults_of(KEPT) == []


def test_a_radius_is_rounded_up_never_down() -> None:
    for typed, kept in (("12", "12.0"), ("12.0000001", "12.1"), ("0.01", "0.1")):
        found = read(WHOLE | {"accuracy": typed})
        assert found is not None and str(found.accuracy_m) == kept


def test_nothing_is_nothing() -> None:
    assert read({}) is None
    assert read(dict.fromkeys(FIELDS, " ")) is None


@pytest.mark.parametrize("name", FIELDS)
def test_all_of_it_or_nothing(name: str) -> None:
    with pytest.raises(NotAFix, match=f"came without {name}: all of it is needed, or nothing"):
        read(WHOLE | {name: ""})
    with pytest.raises(NotAFix, match="all of it is needed"):
        read({name: WHOLE[name]})


@pytest.mark.parametrize("text", ["NaN", "Infinity", "-inf", "1e3", "12,5", "٣٤", "34.1°", "0x10", "9" * 4000, "3_4"])
@pytest.mark.parametrize(("name", "title"), [("lat", "latitude"), ("lon", "longitude"), ("accuracy", "accuracy")])
def test_what_is_no_plain_number_is_named(name: str, title: str, text: str) -> None:
    with pytest.raises(NotAFix, match=f"The phone’s {title} is “.*: that is no number") as refused:
        read(WHOLE | {name: text})
    assert len(str(refused.value)) < 120


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"lat": "90.0000001"}, "latitude is 90.0000001: it lies between -90 and 90 degrees"),
        ({"lat": "-91"}, "latitude is -91"),
        ({"lon": "180.1"}, "longitude is 180.1"),
        ({"lon": "-999999999999"}, "longitude is -999999999999"),
        ({"accuracy": "0"}, "accuracy is 0.0 m: it is more than 0"),
        ({"accuracy": "-3"}, "accuracy is -3.0 m"),
        ({"accuracy": "20037509.1"}, "at most 20,037,509 m"),
        ({"sent": "2027-03-09T16:22:01Z"}, "was 121 s old when it was sent: at most 120 s is taken"),
        ({"sent": "2027-03-09T16:19:54Z"}, "was -6 s old"),
    ],
)
def test_what_is_out_of_range_is_named_with_the_range(changed: dict[str, str], says: str) -> None:
    with pytest.raises(NotAFix) as refused:
        read(WHOLE | changed)
    assert says in str(refused.value)


@pytest.mark.parametrize(
    "changed",
    [
        {"lat": "90", "lon": "-180"},
        {"lat": "-90", "lon": "180"},
        {"accuracy": "20037509"},
        {"sent": "2027-03-09T16:22:00Z"},
        {"sent": "2027-03-09T16:20:00Z"},
    ],
)
def test_the_ends_of_each_range_are_taken(changed: dict[str, str]) -> None:
    assert read(WHOLE | changed) is not None


def test_a_position_dated_a_little_ahead_of_the_phone_is_new() -> None:
    found = read(WHOLE | {"sent": "2027-03-09T16:19:56Z"})
    assert found is not None and found.age_s == 0


@pytest.mark.parametrize("text", ["soon", "2027-03-09", "2027-03-09T16:20:00", "2027-13-40T99:00:00Z", "1741537200"])
@pytest.mark.parametrize("name", ["at", "sent"])
def test_a_time_without_its_zone_is_none(name: str, text: str) -> None:
    with pytest.raises(NotAFix, match="that is no time with its zone"):
        read(WHOLE | {name: text})


def test_a_time_of_another_zone_is_the_same_time() -> None:
    there = AT.astimezone(timezone(timedelta(hours=-7)))
    found = read(WHOLE | {"at": there.isoformat()})
    assert found is not None and found.at == AT


def test_a_position_that_was_not_read_from_a_form_is_held_to_the_same() -> None:
    wrong = Fix(Decimal("NaN"), Decimal(200), Decimal("Infinity"), AT.replace(tzinfo=None), 121)
    said = " ".join(faults_of(wrong))
    for word in ("latitude", "longitude", "accuracy", "no zone", "121 s old"):
        assert word in said

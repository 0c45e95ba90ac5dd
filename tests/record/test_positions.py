"""Positions that photos carry: read as the phone wrote them, and nothing made of what cannot be read."""

from io import BytesIO
from typing import Any

import pytest

from apps.record.ids import uuid7
from apps.record.photos import GPS, keep
from apps.record.positions import position_of
from tests.factories.times import NOW
from tests.record.test_photos import upload

WHOLE: dict[int, Any] = {
    1: "N",
    2: (35.0, 14.0, 34.4191),
    3: "W",
    4: (29.0, 49.0, 41.5843),
    16: "M",
    17: 236.5,
    18: b"WGS-84\x00",
    31: 8.1,
}


def changed(**tags: Any) -> dict[int, Any]:
    """Return the attributes with some changed; None takes one out."""
    made = {**WHOLE, **{int(tag[1:]): value for tag, value in tags.items()}}
    return {tag: value for tag, value in made.items() if value is not None}


def test_a_whole_position_is_read() -> None:
    assert position_of(WHOLE) == {
        "lat": 35.24289419,
        "lon": -29.82821786,
        "uncertainty_m": 8.1,
        "direction_deg": 236.5,
        "north": "magnetic",
    }


def test_south_and_east_turn_the_signs() -> None:
    found = position_of(changed(_1="S", _3="E"))
    assert found is not None and (found["lat"], found["lon"]) == (-35.24289419, 29.82821786)


def test_what_the_phone_did_not_say_is_none() -> None:
    found = position_of(changed(_16=None, _17=None, _18=None, _31=None))
    assert found is not None
    assert (found["uncertainty_m"], found["direction_deg"], found["north"]) == (None, None, "")


@pytest.mark.parametrize("tags", [{"_31": 0.0}, {"_31": -4.0}, {"_31": float("nan")}, {"_31": "far"}])
def test_an_uncertainty_that_is_none_is_none(tags: dict[str, Any]) -> None:
    found = position_of(changed(**tags))
    assert found is not None and found["uncertainty_m"] is None


def test_a_direction_beyond_the_circle_is_none_and_360_is_north() -> None:
    beyond, full = position_of(changed(_17=400.0)), position_of(changed(_17=360.0))
    assert beyond is not None and (beyond["direction_deg"], beyond["north"]) == (None, "")
    assert full is not None and full["direction_deg"] == 0


@pytest.mark.parametrize(
    "tags",
    [
        {"_1": None},
        {"_1": "X"},
        {"_2": None},
        {"_2": (35.0, 14.0)},
        {"_2": (95.0, 0.0, 0.0)},
        {"_2": (35.0, 75.0, 0.0)},
        {"_2": (-35.0, 0.0, 0.0)},
        {"_2": (float("nan"), 0.0, 0.0)},
        {"_2": ("x", 0.0, 0.0)},
        {"_4": 29.8},
        {"_18": "TOKYO"},
        {"_2": (0.0, 0.0, 0.0), "_4": (0.0, 0.0, 0.0)},
    ],
)
def test_what_cannot_be_read_is_no_position(tags: dict[str, Any]) -> None:
    assert position_of(changed(**tags)) is None


def test_no_attributes_are_no_position() -> None:
    assert position_of({}) is None


def photo(kind: str, tags: dict[int, Any]) -> bytes:
    """Return a picture that carries these GPS attributes."""
    from PIL import Image

    marked, kept = Image.Exif(), BytesIO()
    marked[0x010F] = "A phone"
    marked.get_ifd(GPS).update(tags)
    Image.new("RGB", (40, 20), "brown").save(kept, kind, exif=marked)
    return kept.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_the_position_in_a_file_is_kept_beside_its_hash(db: None, kind: str) -> None:
    kept = keep(log=uuid7(), file=upload(photo(kind, WHOLE)), at=NOW)
    kept.refresh_from_db()
    assert kept.position is not None
    assert kept.position["lat"] == pytest.approx(35.24289419, abs=1e-7)
    assert (kept.position["uncertainty_m"], kept.position["north"]) == (pytest.approx(8.1), "magnetic")


@pytest.mark.filterwarnings("ignore:Corrupt EXIF data:UserWarning")
def test_metadata_that_is_broken_costs_no_photo(db: None) -> None:
    data = bytearray(photo("JPEG", WHOLE))
    start = data.index(b"Exif\0\0") + 6
    data[start + 4 : start + 8] = b"\xff\xff\xff\x7f"
    assert keep(log=uuid7(), file=upload(bytes(data)), at=NOW).position is None

"""Reaches: every foundation in exactly one, whatever the cuts; the counts of each sum to its foundations; addresses that leave none out."""

import itertools
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.sheet.glyphs import NEXT_STATES, Standing
from apps.sheet.reaches import SHORT_FT, STATES, cut, cuts, state_of
from apps.sheet.strip import reaches
from apps.sheet.strip_road import Road, Spot, plain_figure


def spot(at: float, standing: Standing | None = None, side: str = "L") -> Spot:
    return Spot(f"LP-{at:g}", at, side, "/", standing or Standing("transformer_base", 2, "ready"), "")


def address(low: float, high: float, side: str) -> str:
    return f"/?start={low:.2f}&to={high:.2f}&side={side}"


ROAD = Road(0, 10_000, equations=[(4_321.5, "43+21.50", "45+00")], figure=plain_figure, reach=address)
STANDINGS = st.builds(
    Standing,
    st.just("transformer_base"),
    st.integers(0, 6),
    st.sampled_from(NEXT_STATES),
    held=st.booleans(),
    abandoned=st.booleans(),
)
PLACES = st.lists(st.integers(0, 1_000_000).map(lambda each: each / 100), max_size=60)


def found(href: str, spots: list[Spot]) -> int:
    """Count what stands from start to to, both counted in: what the corridor's list answers to such an address."""
    match = re.search(r"start=([\d.]+)&to=([\d.]+)", href)
    assert match
    return sum(float(match[1]) <= each.station <= float(match[2]) for each in spots)


@given(PLACES, st.integers(3, 400))
def test_every_foundation_falls_into_exactly_one_reach(places: list[float], px: int) -> None:
    spots = [spot(at) for at in places]
    ends = cuts(ROAD, 0, 10_000, px / 1000, 44)
    assert ends == sorted(ends) and (ends[0], ends[-1]) == (0, 10_000) and 4_321.5 in ends
    made = cut(ROAD, ends, spots)
    told = [each for reach in made for each in reach.spots]
    assert sorted(told, key=lambda each: each.station) == sorted(spots, key=lambda each: each.station)
    assert all(a.end <= b.start for a, b in itertools.pairwise(made))


@given(PLACES)
def test_the_address_of_a_reach_lists_its_foundations_and_no_other(places: list[float]) -> None:
    spots = [spot(at) for at in places]
    for reach in cut(ROAD, cuts(ROAD, 0, 10_000, 0.1, 44), spots):
        assert found(reach.href, spots) == len(reach.spots)


def test_one_at_a_cut_belongs_to_the_reach_that_begins_there() -> None:
    before, after = cut(Road(0, 2000, reach=address), [0, 1000, 2000], [spot(999.99), spot(1000), spot(2000)])
    assert [each.station for each in before.spots] == [999.99]
    assert [each.station for each in after.spots] == [1000, 2000]
    assert before.href == address(0, 1000 - SHORT_FT, "") and after.href == address(1000, 2000, "")


def test_an_end_where_nothing_stands_is_written_as_it_is() -> None:
    assert cut(Road(0, 2000, reach=address), [0, 1000, 2000], [spot(500), spot(1500)])[0].href == address(0, 1000, "")


@given(st.lists(STANDINGS, min_size=1, max_size=40))
def test_the_counts_sum_to_the_foundations_and_are_said(standings: list[Standing]) -> None:
    (reach,) = cut(Road(0, 100), [0, 100], [spot(50, each) for each in standings])
    assert sum(reach.counts.values()) == len(standings)
    assert list(reach.counts) == list(STATES)
    said = [int(number) for number in re.findall(r"[:,] (\d+) ", reach.name)]
    assert said[0] == len(standings) == sum(said[1:])
    assert 0 <= reach.share <= 1


@pytest.mark.parametrize(
    ("standing", "state"),
    [
        (Standing("transformer_base", 6, held=True), "held"),
        (Standing("transformer_base", 3, "inspected", held=True, abandoned=True), "abandoned"),
        (Standing("transformer_base", 6), "complete"),
        (Standing("transformer_base", 3, "inspected", open_finding=True), "inspected"),
        (Standing("transformer_base", 3, "reopened"), "returned"),
        (Standing("transformer_base", 0, "ready"), "ready"),
        (Standing("transformer_base", 0), "not_ready"),
    ],
)
def test_what_stops_a_foundation_goes_before_what_it_waits_for(standing: Standing, state: str) -> None:
    assert state_of(standing) == state


def test_the_share_leaves_the_abandoned_out() -> None:
    standings = [
        Standing("transformer_base", 6),
        Standing("transformer_base", 3),
        Standing("transformer_base", 6, abandoned=True),
    ]
    (reach,) = cut(Road(0, 100), [0, 100], [spot(50, each) for each in standings])
    assert reach.share == 0.75


@pytest.mark.parametrize("count", [40, 150, 2000, 20_000])
@pytest.mark.parametrize("width", [360, 1280, 1838])
def test_a_strip_at_any_width_counts_all_or_shows_single_foundations(count: int, width: int) -> None:
    spots = [spot(round((i + 0.5) * 10_000 / count, 2), side="LR"[i % 2]) for i in range(count)]
    made = reaches(spots, ROAD, width=width)
    assert sum(len(reach.spots) for reach in made) in (0, count)
    assert bool(made) == (count >= 2000 or (count == 150 and width == 360))
    assert len(made) <= 3 * width / 24
    for reach in made:
        assert found(reach.href, spots) == len(reach.spots)

"""Drawing a sample: by the SHA-256 of seed and item, worked beside the program; strata by largest remainders."""

from collections import Counter
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.decision import allocate, digest, draw, draw_strata, ticket
from apps.calc.errors import CalcError

# printf '2207:LP-001' | sha256sum (GNU coreutils), first eight digits; sorted by hand.
WORKED = {"LP-001": "eaa7a6f0", "LP-002": "861268d0", "LP-003": "f31743a5"}


def test_the_digest_is_that_of_the_standard():
    # FIPS 180-4, example of one block: SHA-256("abc"), as the item of an unseparated message.
    assert sha256(b"abc").hexdigest() == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert {item: ticket("2207", item)[:8] for item in WORKED} == WORKED


def test_the_smallest_tickets_are_drawn_in_order():
    by_hand = sorted(WORKED, key=lambda item: WORKED[item])
    assert by_hand == ["LP-002", "LP-001", "LP-003"]
    assert [draw(WORKED, "2207", n) for n in range(4)] == [tuple(by_hand[:n]) for n in range(4)]


@given(st.permutations([f"LP-{at:03d}/drill/1" for at in range(40)]), st.integers(0, 40))
def test_the_order_of_the_frame_does_not_matter(frame, n):
    assert draw(frame, "s", n) == draw(sorted(frame), "s", n)
    assert digest(frame) == digest(sorted(frame))


def test_a_larger_sample_holds_the_smaller():
    frame = [f"{at}" for at in range(100)]
    assert set(draw(frame, "x", 20)) < set(draw(frame, "x", 21))
    assert draw(frame, "x", 20) != draw(frame, "y", 20)


def test_every_item_has_the_same_chance():
    # 2,000 seeds, 3 of 10 drawn: each item 600 times, chi-square with 9 degrees under its 99.9 % point, 27.88 (NIST/SEMATECH
    # e-Handbook 1.3.6.7.4). Without replacement the spread is smaller, so the bound is on the safe side.
    counts = Counter(item for seed in range(2000) for item in draw("ABCDEFGHIJ", str(seed), 3))
    assert sum((count - 600) ** 2 / 600 for count in counts.values()) < 27.88
    assert len(counts) == 10


def test_one_more_item_changes_the_digest_of_a_frame():
    assert digest(["a", "b"]) != digest(["a", "b", "c"])
    assert digest(["a", "b"]) != digest(["ab"])


@pytest.mark.parametrize(
    ("sizes", "n", "given_"),
    [
        # By hand: 8 · 60/100 = 4.8, 2.4, 0.8: whole parts 4, 2, 0; two left to remainders .8 and .8, the greater stratum first.
        ({"drill": 60, "pour": 30, "layout": 10}, 8, {"drill": 5, "pour": 2, "layout": 1}),
        # 5 · 1/100 = 0.05 twice and 4.9: the two small ones would get none, each takes one from the great one.
        ({"a": 1, "b": 1, "c": 98}, 5, {"a": 1, "b": 1, "c": 3}),
        ({"a": 2, "b": 3}, 5, {"a": 2, "b": 3}),
        ({"a": 10, "b": 10, "c": 10}, 4, {"a": 2, "b": 1, "c": 1}),
    ],
)
def test_strata_get_their_share(sizes, n, given_):
    assert allocate(sizes, n) == given_


@given(st.lists(st.integers(1, 60), min_size=1, max_size=8), st.data())
def test_an_allocation_is_whole_at_least_one_and_near_its_proportion(sizes, data):
    strata = {f"s{at}": size for at, size in enumerate(sizes)}
    total = sum(sizes)
    n = data.draw(st.integers(len(sizes), total))
    found = allocate(strata, n)
    assert sum(found.values()) == n
    assert all(1 <= found[name] <= size for name, size in strata.items())
    if all(n * size >= total for size in sizes):  # nobody had to be lifted to one: quota rule
        assert all(abs(found[name] - n * size / total) < 1 for name, size in strata.items())


def test_a_stratum_is_drawn_by_itself():
    frame = {"Drill": [f"LP-{at:03d}/drill/1" for at in range(30)], "Pour": [f"LP-{at:03d}/pour/1" for at in range(10)]}
    found = draw_strata(frame, "7", 8)
    assert [each.item for each in found if each.stratum == "Drill"] == list(draw(frame["Drill"], "7", 6))
    assert [each.item for each in found if each.stratum == "Pour"] == list(draw(frame["Pour"], "7", 2))
    assert all(each.ticket == ticket("7", each.item) for each in found)


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: draw(["a"], "", 1), "seed"),
        (lambda: draw(["a", "a"], "7", 1), "frame"),
        (lambda: draw(["a"], "7", 2), "n"),
        (lambda: allocate({"a": 3, "b": 3}, 1), "n"),
        (lambda: allocate({"a": 3, "b": 3}, 7), "n"),
        (lambda: allocate({"a": 0}, 0), "a"),
    ],
)
def test_what_cannot_be_drawn_is_refused(make, field):
    with pytest.raises(CalcError) as refused:
        make()
    assert refused.value.field == field

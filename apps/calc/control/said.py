"""What a control chart says of itself, whichever kind it is."""

from collections.abc import Sequence

from apps.calc.working import number_text

HANDBOOK = "NIST/SEMATECH e-Handbook of Statistical Methods"
BEYOND = (
    "Whether anything conforms: these limits come from the values themselves, a requirement from the plans. "
    "A signal says that something changed, not what."
)
MOST_NAMED = 6


def short(value: float) -> str:
    """Write a number in a sentence, to four figures."""
    return number_text(value, 4)


def named(places: Sequence[int]) -> str:
    """Name places, the first of many: 15 and 23; 1, 2, 3, 4, 5, 6 and 9 more."""
    words = [str(each) for each in places[:MOST_NAMED]]
    if more := len(places) - len(words):
        return f"{', '.join(words)} and {more} more"
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def beyond_words(what: str, places: Sequence[int], where: str) -> str:
    """Say which are beyond something, for one or many: value 10 is, values 2 and 9 are."""
    plural = len(places) > 1
    return f"{what}{'s' if plural else ''} {named(places)} {'are' if plural else 'is'} {where}"

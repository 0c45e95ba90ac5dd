"""Whether the words of a drawing stand on the paper and clear of each other, by the mean width of their letters."""

from itertools import combinations

from apps.sheet.drawn.paper import text_width
from tests.sheet.drawn.sheet_reader import Box, Sheet


def places(sheet: Sheet) -> list[tuple[str, Box]]:
    """The words that do not stand upright, with the box that they take."""
    found = []
    for each in sheet.root.iter("text"):
        words, size = each.text or "", float(each.get("font-size", ""))
        if not words or each.get("transform"):
            continue
        wide = text_width(words, size, bool(each.get("font-weight")))
        x, y = float(each.get("x", "")), float(each.get("y", ""))
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[each.get("text-anchor", "start")]
        found.append((words, (left, y - 0.7 * size, left + wide, y + 0.15 * size)))
    return found


def meeting(sheet: Sheet) -> list[tuple[str, str]]:
    """Pairs of words that lie over each other."""
    return [
        (one, other)
        for (one, a), (other, b) in combinations(places(sheet), 2)
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
    ]


def cut_off(sheet: Sheet) -> list[str]:
    """Words that reach over the edge of the paper."""
    across, down = (float(sheet.root.get(each, "")) for each in ("width", "height"))
    return [
        words
        for words, (left, top, right, bottom) in places(sheet)
        if left < -2 or top < -2 or right > across + 2 or bottom > down + 2
    ]

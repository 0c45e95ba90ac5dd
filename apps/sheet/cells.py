"""Cells of a CSV export that stay text when a spreadsheet opens them."""

# OWASP: a cell that begins with one of these may be run as a formula; tab and carriage return were added later.
RISKY = ("=", "+", "-", "@", "\t", "\r", "\0")


def safe_cell(value: object) -> object:
    """Return text with an apostrophe before it where a spreadsheet would take it for a formula; numbers as they are."""
    return f"'{value}" if isinstance(value, str) and value.startswith(RISKY) else value

"""Fixed moments, so that a test says the same on every day of the year."""

from datetime import UTC, date, datetime, timedelta

START = datetime(2026, 3, 2, 15, 0, tzinfo=UTC)
"""Monday 2 March 2026, 08:00 in America/Denver: when corridors are opened."""
NOW = datetime(2026, 3, 3, 15, 0, tzinfo=UTC)
"""The next day: when work begins."""
FIRST_DAY = date(2026, 1, 5)
"""Memberships hold from here on, without end."""
HOUR = timedelta(hours=1)
DAY = timedelta(days=1)

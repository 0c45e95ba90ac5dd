"""Addresses that the sheets of the board and their parts lead to, under the names that the templates know them by."""

from django.urls import reverse

from apps.corridor.models import Corridor


def addresses(corridor: Corridor) -> dict[str, str]:
    """Return list, work done, charts, forecast and findings of a corridor, without a host."""
    places = {
        "list_url": "board:corridor",
        "done_url": "board:done",
        "charts_url": "board:charts",
        "forecast_url": "board:forecast",
        "findings_url": "desk:findings",
    }
    return {name: reverse(place, args=[corridor.slug]) for name, place in places.items()}

"""The set points in plan.json."""

from collections.abc import Iterable

from cropcal.records.hours import SetPoint
from cropcal.show.data.json_forms import Json


def form(points: Iterable[SetPoint]) -> Json:
    """Return ``set_points[]``: ``value`` is a number, or a text such as "06:30"."""
    return {
        "set_points": [
            {
                "zone": point.zone,
                "what": point.what,
                "value": point.value,
                "unit": point.unit,
                "from": point.start.isoformat() if point.start else None,
                "note": point.note,
            }
            for point in points
        ]
    }

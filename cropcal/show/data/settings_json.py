"""The settings in force at each time, as ``settings.json`` keeps them beside the plan."""

from collections.abc import Sequence
from typing import Any

from cropcal.records.base import Record, clock
from cropcal.records.replan import Begun
from cropcal.records.space import Held, Zone


def form(held: Sequence[Held], begun: Begun | None) -> dict[str, Any]:
    """Return the settings of each period, oldest first; ``begun``: the day an idle space was begun."""
    return {
        "about": "What space.toml said when: the past is read by it. Written by cropcal plan.",
        "begun": None if begun is None else {"start": begun.start.isoformat(), "on": begun.on.isoformat()},
        "held": [_row(stretch) for stretch in held],
    }


def _row(held: Held) -> dict[str, Any]:
    return {
        "from": None if held.since is None else held.since.isoformat(),
        "zones": [_zone(zone) for zone in held.zones],
        "fixtures": [_plain(fixture) for fixture in held.fixtures],
        "readings": [_plain(reading) for reading in held.readings],
        "month_hours": [{"zone": hours.zone, "lit_min": hours.lit} for hours in held.month_hours],
        "canopy_m": held.canopy_m,
    }


def _zone(zone: Zone) -> dict[str, Any]:
    """Return a zone in the words of space.toml; quiet hours are no light."""
    lit = None if zone.lit is None else [[clock(on), clock(off)] for on, off in zone.lit]
    return _plain(zone, {"quiet", "lit"}) | ({} if lit is None else {"lit": lit})


def _plain(record: Record, leave: set[str] | None = None) -> dict[str, Any]:
    return record.model_dump(mode="json", by_alias=True, exclude_none=True, exclude=leave)

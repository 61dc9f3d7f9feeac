"""Fans and pumps that run in a zone's quiet hours: what the file says of them, and what could be done."""

import re

import numpy as np

from cropcal.planning.power.lamp_hours import quiet_table
from cropcal.records.base import MINUTES_PER_DAY
from cropcal.records.space import Load, Space, Zone
from cropcal.science.power import Bools, week_table

HEARD = re.compile(
    r"\b((air)?pump|fan|blower|ventilator|extractor|compressor|aerator|chiller|cooler|(de)?humidifier)s?\b",
    re.IGNORECASE,
)
"""Names of loads that people hear (common practice); a heater, say, is not heard."""


def loud_loads(space: Space, zone: Zone) -> list[str]:
    """Return in plain words which fans and pumps run in a zone's quiet hours, none of them ``silent``."""
    if not zone.quiet:
        return []
    heard = (load for load in space.loads if load.zone in (None, zone.name) and is_heard(load))
    return [line for load in heard for line in _loud(load, zone)]


def is_heard(load: Load) -> bool:
    """Return whether a load is one that people hear, by its name, unless the file calls it silent."""
    return not load.silent and HEARD.search(load.name) is not None


def _loud(load: Load, zone: Zone) -> list[str]:
    quiet = quiet_table(zone)
    runs = quiet & _on_table(load)
    if load.hours_per_day is not None:
        room_h = 24 - int(quiet.reshape(-1, MINUTES_PER_DAY).sum(axis=1).max()) / 60
        if load.hours_per_day <= room_h:
            return []
        cure = f"{load.hours_per_day:g} h a day do not fit into the {room_h:.3g} h that are left"
    elif load.every_minutes is not None:
        cure = f"let its timer leave them out, if the plants can wait {_longest_h(quiet):.3g} h"
    elif load.always:
        cure = f"give it on hours outside them, if the plants can wait {_longest_h(quiet):.3g} h"
    else:
        cure = "move its on hours"
    if not runs.any():
        return []
    hours, of_hours = int(runs.sum()) / 60, int(quiet.sum()) / 60
    return [
        f"zone {zone.name}: the {load.name} runs in {hours:.3g} of the {of_hours:.3g} quiet hours a week; "
        f"{cure}; or write silent = true for it if nobody hears it"
    ]


def _on_table(load: Load) -> Bools:
    """Return the minutes of the week in which a load may run, shape (10080,)."""
    return week_table(load.on) if load.on is not None else np.ones_like(week_table(()))


def _longest_h(quiet: Bools) -> float:
    """Return the longest quiet time without a break, round the week [h]."""
    if quiet.all():
        return len(quiet) / 60
    turned = np.roll(quiet, -int(np.argmin(quiet)))  # begins loud, so that no stretch crosses the end
    edges = np.flatnonzero(np.diff(np.concatenate([[False], turned, [False]]).astype(np.int64)))
    return float((edges[1::2] - edges[::2]).max()) / 60

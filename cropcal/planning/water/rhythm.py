"""How often and how long a zone is flooded: by the pump's minutes in the file, else as growers do."""

from typing import Final

from cropcal.records.space import Space, Zone, photoperiod_h
from cropcal.records.water import FloodRhythm
from cropcal.science import water
from cropcal.units import HOURS_PER_DAY

LONG_DARK_H: Final = 6.0
"""Dark hours from which pots are flooded once in between (common practice)."""


def rhythm_of(space: Space, zone: Zone) -> FloodRhythm | None:
    """Return the rhythm of floods (or drips) of a zone, None where nothing says that it has one.

    A pump whose minutes are in the file counts first, then what is usual for the pots of a zone that is
    flooded. ``pot_l`` has to be filled in.
    """
    for load in space.loads:
        if "pump" not in load.name.casefold() or load.zone not in (None, zone.name):
            continue
        if load.on_minutes is not None and load.every_minutes is not None and zone.watered in PUMPED:
            return FloodRhythm(
                zone=zone.name,
                minutes=max(round(load.on_minutes), 1),
                every_minutes=max(round(load.every_minutes), 1),
                in_dark=None,
                known="file",
            )
    if zone.watered != "flood" or zone.pot_l is None:
        return None
    dark_h = HOURS_PER_DAY - photoperiod_h(zone)
    return FloodRhythm(
        zone=zone.name,
        minutes=int(water.flood_minutes(zone.pot_l)),
        every_minutes=round(60 * float(water.flood_every_h(zone.pot_l))),
        in_dark=1 if dark_h >= LONG_DARK_H else 0,
        known="common practice",
        pot_l=zone.pot_l,
        pot_assumed=is_pot_assumed(space, zone),
    )


PUMPED: Final = (None, "flood", "drip")
"""Ways of watering whose pump runs for minutes; None: the file does not say, but its pump does."""


def is_pot_assumed(space: Space, zone: Zone) -> bool:
    """Return whether the volume of a zone's pots was filled in."""
    place = next(at for at, other in enumerate(space.zones, 1) if other.name == zone.name)
    quoted = zone.name.replace("\\", "\\\\").replace('"', '\\"')
    keys = {f"zone.{zone.name}.pot_l", f'zone."{quoted}".pot_l', f"zone[{place}].pot_l"}
    return any(item.key in keys for item in space.assumed)

"""Values of a space file put in place: as the space that it makes, and as the ``--set`` that does it."""

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass

from cropcal.records.base import clock
from cropcal.records.space import Space, Zone

_BARE = re.compile(r"[A-Za-z_][A-Za-z0-9_-]*")
_EITHER_OR = (
    frozenset({"lit", "photoperiod_h"}),
    frozenset({"air_c", "lamp_on_air_c"}),
    frozenset({"air_c", "lamp_off_air_c"}),
)
"""Keys of a zone that exclude each other, as far as steps set them."""


@dataclass(frozen=True)
class SetValue:
    """One value of a space file: ``key`` of the table ``at`` (its place among those of ``table``, from 0)."""

    table: str
    at: int
    handle: str
    key: str
    value: object
    field: str = ""

    @property
    def text(self) -> str:
        """Return KEY=VALUE of ``--set``."""
        return f"{self.table}.{self.handle}.{self.key}={_toml(self.key, self.value)}"

    @property
    def moves_lamp(self) -> bool:
        """Return whether it changes where the light of the lamps goes."""
        return self.key in ("lamp_to_canopy_m", "wall_reflectance")

    @property
    def moves_day(self) -> bool:
        """Return whether it changes when the lamp is on, or how much of the sun comes in."""
        return self.key in ("lit", "photoperiod_h", "daylight_share")

    @property
    def place(self) -> tuple[str, int, str]:
        """Return what it sets."""
        return self.table, self.at, self.key


def changed(space: Space, settings: Sequence[SetValue]) -> Space:
    """Return the space as if its file had other values: exactly what ``--set`` makes of it."""
    for setting in settings:
        rows = getattr(space, _LISTS[setting.table])
        update: dict[str, object] = {setting.field or setting.key: setting.value}
        for group in _EITHER_OR:
            if setting.table == "zone" and setting.key in group:
                update |= {key: None for key in group if key != setting.key}
        row = rows[setting.at].model_copy(update=update)
        space = space.model_copy(
            update={_LISTS[setting.table]: (*rows[: setting.at], row, *rows[setting.at + 1 :])}
        )
    return space


_LISTS = {"zone": "zones", "bed": "beds", "fixture": "fixtures", "reading": "readings", "want": "wants"}


def _toml(key: str, value: object) -> str:
    """Return a value as TOML."""
    match value:
        case None:
            return ""
        case bool():
            return "true" if value else "false"
        case tuple() if key == "lit":
            stretches = (f'["{clock(on)}", "{clock(off)}"]' for on, off in value)
            return f"[{', '.join(stretches)}]"
        case tuple() if key in ("wall_reflectance", "daylight_share") and len(set(value)) == 1:
            return _toml(key, value[0])
        case tuple():
            return f"[{', '.join(_toml('', item) for item in value)}]"
        case float():
            return f"{value:g}" if float(f"{value:g}") == value else f"{value}"
        case _:
            return json.dumps(value, ensure_ascii=False)


def quoted(name: str) -> str:
    """Return a name as part of a key, in quotes where it needs them."""
    return name if _BARE.fullmatch(name) else json.dumps(name, ensure_ascii=False)


def zone_setting(space: Space, zone: Zone, key: str, value: object, field: str = "") -> SetValue:
    """Return a setting of a zone."""
    at = next(number for number, other in enumerate(space.zones) if other.name == zone.name)
    return SetValue("zone", at, quoted(zone.name), key, value, field)


def want_settings(space: Space, number: int, beds: tuple[str, ...]) -> tuple[SetValue, ...]:
    """Return the settings by which a want grows in some beds only."""
    want = space.wants[number]
    once = [slug for slug in want.crops if sum(slug in other.crops for other in space.wants) == 1]
    handle = quoted(once[0]) if once else f"{number + 1}"
    only = SetValue("want", number, handle, "beds", beds)
    taken_out = SetValue("want", number, handle, "zones", None)
    return (only,) if want.zones is None else (only, taken_out)

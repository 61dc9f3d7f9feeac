"""The air of a zone as far as the file leaves it out: an ordinary room, no fan, walls of thin board."""

from collections.abc import Iterable, Iterator
from typing import Final

from cropcal.records.space import Bed, Zone

AIR_C: Final = 21.0
BOARD_W_M2_K: Final = 2.8
"""U of 12 mm of wood board: 1 / (0.13 + 0.012 / 0.13 + 0.13), with 0.13 m2K/W for the air at either face (ISO
6946, heat that flows sideways) and 0.13 W/mK (ISO 10456, oriented strand board). Foil or cloth lets
through a third more, so this is the warm side."""
DRIFT_M_S: Final = 0.05
"""Air that drifts in through half of an open side and out through the other half (assumed; warm air that
rises does a little better from 2 K on)."""
AIR_J_M3_K: Final = 1200.0
HEIGHT_M: Final = 0.6
"""Height of a zone whose beds have no headroom (assumed)."""
UNDER_AND_OVER_M: Final = 0.2
"""Height that a container and a lamp take beside the headroom (assumed)."""

Filling = tuple[str, float, str]
"""A key, its value, and why."""


def air(zone: Zone, beds: Iterable[Bed]) -> Iterator[Filling]:
    """Yield what a file leaves out about a zone's air; ``beds`` are those in the zone."""
    if zone.room_c is not None:
        yield from _room(zone, beds)
    elif zone.air_c is None:
        on, off = zone.lamp_on_air_c, zone.lamp_off_air_c
        if on is None and off is None:
            yield "air_c", AIR_C, "no air temperature given: an ordinary heated room"
        elif off is None and on is not None:
            yield "lamp_off_air_c", on, "as with the lamp on"
        elif on is None and off is not None:
            yield "lamp_on_air_c", off, "as with the lamp off"


def _room(zone: Zone, beds: Iterable[Bed]) -> Iterator[Filling]:
    """Yield fan and losses of a zone in a room of known air, rather too warm than too cool."""
    if zone.fan_m3_h is None:
        yield "fan_m3_h", 0.0, "no fan given that blows room air through"
    if zone.loss_w_per_k is not None:
        return
    heads = [bed.headroom_m for bed in beds if bed.headroom_m is not None]
    height = max(heads) + UNDER_AND_OVER_M if heads else HEIGHT_M
    left_to_right = (zone.width_m, zone.width_m, zone.length_m, zone.length_m)
    closed = zone.fan_m3_h is not None or all(zone.walls)
    walled = sum(side for side, white in zip(left_to_right, zone.walls, strict=True) if closed or white > 0)
    unwalled = sum(left_to_right) - walled
    board_m2 = walled * height + (zone.area_m2 if closed else 0.0)
    drift_m3_s = DRIFT_M_S * unwalled * height / 2
    loss = float(f"{BOARD_W_M2_K * board_m2 + AIR_J_M3_K * drift_m3_s:.3g}")
    what = "a closed box of thin board" if closed else "an open shelf: air drifts through its open sides"
    yield "loss_w_per_k", loss, f"{what}, {height:g} m high, rather too little than too much"

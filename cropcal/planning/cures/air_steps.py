"""Steps of air and sun that may let a crop do better: fans, warmer or cooler air, shade."""

from cropcal.planning.cures.light_steps import Ladder, TriedStep, same_loss
from cropcal.planning.cures.settings import zone_setting
from cropcal.planning.site.air import COLDEST_ROOM_C, MOST_FAN_M3_H_M2, zone_air
from cropcal.records.fit import CureStep
from cropcal.records.space import Space, Zone

FLOWS_M3_H = (*range(5, 50, 5), *range(50, 200, 10), *range(200, 1001, 50))
"""Flows of fans that are offered."""
AIR_STEP_C, MOST_AIR_STEPS, SHADE_STEP, WARMEST_C = 0.5, 12, 0.05, 40.0


def fan(space: Space, zone: Zone) -> Ladder | None:
    """Return a fan that moves the leaves, where there is none."""
    if zone.air_moving:
        return None
    step = TriedStep(
        CureStep(kind="fan", subject=zone.name), (zone_setting(space, zone, "air_moving", True),)
    )
    return Ladder("fan", (1.0,), lambda _: step)


def flow(space: Space, zone: Zone) -> Ladder | None:
    """Return fans that blow more of the room's air through, where the room's air is known."""
    if zone.room_c is None:
        return None
    now = zone.fan_m3_h or 0.0
    sizes = [float(flow) for flow in FLOWS_M3_H if now < flow <= MOST_FAN_M3_H_M2 * zone.area_m2]

    def build(size: float) -> TriedStep:
        said = CureStep(kind="flow", subject=zone.name, before=now, after=size, unit="m3/h")
        return TriedStep(said, (zone_setting(space, zone, "fan_m3_h", size), *same_loss(space, zone)))

    return Ladder("flow", sizes, build)


def air(space: Space, zone: Zone, *, warmer: bool) -> Ladder:
    """Return warmer or cooler air by half degrees: of the room where it is known, else of the zone."""
    mean = zone_air(zone, space.fixtures).mean_c
    keys: tuple[str, ...] = ("room_c",) if zone.room_c is not None else ("air_c",)
    if zone.room_c is None and zone.air_c is None and zone.lamp_on_air_c is not None:
        keys = ("lamp_on_air_c", "lamp_off_air_c")

    def build(size: float) -> TriedStep | None:
        by = size if warmer else -size
        settings = []
        for key in keys:
            new = round((getattr(zone, key) if getattr(zone, key) is not None else mean) + by, 2)
            if not COLDEST_ROOM_C <= new <= WARMEST_C:
                return None
            settings.append(zone_setting(space, zone, key, new))
        said = CureStep(kind="air", subject=zone.name, before=mean, after=mean + by, unit="C")
        return TriedStep(said, tuple(settings))

    sizes = [AIR_STEP_C * number for number in range(1, MOST_AIR_STEPS + 1)]
    return Ladder("air", sizes, build)


def shade(space: Space, zone: Zone) -> Ladder | None:
    """Return less of the sun, by twentieths of what comes in."""
    if not zone.has_daylight:
        return None

    def build(size: float) -> TriedStep:
        share = tuple(round(part * (1 - size), 5) for part in zone.daylight_share)
        said = CureStep(kind="shade", subject=zone.name, before=1.0, after=1 - size, unit="1")
        return TriedStep(said, (zone_setting(space, zone, "daylight_share", share),))

    return Ladder("shade", [SHADE_STEP * number for number in range(1, 20)], build, more=False)

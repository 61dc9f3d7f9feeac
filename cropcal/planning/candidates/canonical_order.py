"""A space in an order of its own, so that the order of the file decides nothing."""

from collections.abc import Iterable
from typing import TypeVar

from cropcal.records.base import WEEKDAYS, Record
from cropcal.records.space import Settings, Space, Want

Part = TypeVar("Part", bound=Record)


def canonical(space: Space) -> Space:
    """Return the same space with zones, beds, wants and the rest by name, and the crops of a want too.

    Ties between plans that are as good are then broken by names and days. Rates keep their order: a later one
    overrides an earlier.
    """
    return space.model_copy(
        update={
            "zones": tuple(sorted(space.zones, key=lambda zone: zone.name)),
            "beds": tuple(sorted(space.beds, key=lambda bed: bed.name)),
            "fixtures": _sorted(space.fixtures),
            "readings": _sorted(space.readings),
            "loads": _sorted(space.loads),
            "wants": _sorted(_want(want) for want in space.wants),
            "chores": _sorted(space.chores),
            "settings": _settings(space.settings),
        }
    )


def _sorted(parts: Iterable[Part]) -> tuple[Part, ...]:
    return tuple(sorted(parts, key=lambda part: part.model_dump_json()))


def _want(want: Want) -> Want:
    places = {
        name: tuple(sorted(names)) for name in ("beds", "zones") if (names := getattr(want, name)) is not None
    }
    return want.model_copy(update={"crops": tuple(sorted(dict.fromkeys(want.crops))), **places})


def _settings(settings: Settings) -> Settings:
    days = {
        name: tuple(sorted(named, key=WEEKDAYS.index))
        for name in ("work_days", "harvest_days")
        if (named := getattr(settings, name)) is not None
    }
    return settings.model_copy(update={"breaks": tuple(sorted(settings.breaks)), **days})

"""A space that was begun later than planned: its plan starts on that day."""

from datetime import timedelta
from math import ceil

from cropcal.planning.replan.initial_stock import sown_on
from cropcal.records.space import Begun, Space


def begun_on(space: Space, begun: Begun | None) -> Space:
    """Return the space with the day on which it was begun as its start; the end stays.

    Only while its file gives the same start as then. Plants listed as growing keep their sowing day.
    """
    settings = space.settings
    if begun is None or begun.start != settings.start or begun.on <= settings.start:
        return space
    left = settings.start + timedelta(weeks=settings.weeks) - begun.on
    if left <= timedelta():
        return space
    growing = (
        row.model_copy(update={"sown": sown_on(row, settings.start), "age_d": None}) for row in space.growing
    )
    now = {
        "start": begun.on,
        "weeks": ceil(left.days / 7),
        "breaks": tuple(stretch for stretch in settings.breaks if stretch[1] >= begun.on),
    }
    return space.model_copy(
        update={"settings": settings.model_copy(update=now), "growing": tuple(growing)},
    )

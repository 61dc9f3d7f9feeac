"""Whether anything was ever sown in a space."""

from datetime import date
from pathlib import Path

from cropcal.records.journal import PLANT_EVENTS
from cropcal.records.space import Space
from cropcal.season.beside import Noted
from cropcal.season.load import plan_json


def never_begun(path: Path, journal: Noted, space: Space, today: date) -> bool:
    """Return whether the start of a space is past, with nothing noted of plants and no plan written."""
    start = space.settings.start
    if today <= start or plan_json(path).exists():
        return False
    return not any(event.event in PLANT_EVENTS for event in journal.events())

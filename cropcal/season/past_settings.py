"""What held when, kept beside the plan: lamp hours, air and light, so that the past stays as it was."""

from pathlib import Path

from cropcal.records.space import Held, Space
from cropcal.season.log_words import command
from cropcal.show.text import typed


def settings_kept(path: Path, space: Space, *, begun: bool) -> tuple[tuple[Held, ...], tuple[str, ...]]:
    """Return what held when, with what the file says now, and a line for each setting that changed since.

    ``begun``: whether anything may grow yet. Until then no setting has a past.
    """
    from cropcal.planning.history.past_settings import brought_up_to_date, changes

    history = space.history
    if history is None:
        return (), ()
    held = history.held if begun else ()
    lines = tuple(
        f"{what}: counted from {history.now.since:%Y-%m-%d} on. If it changed earlier: "
        + command(path, f"{event} {typed(place)} {amount} --on DATE")
        for what, event, place, amount in changes(held, history.now, space.beds)
    )
    return brought_up_to_date(held, history.now), lines

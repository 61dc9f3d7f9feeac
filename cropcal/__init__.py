"""Plan a small lamp-lit growing space: light, cost, and a succession sowing calendar.

>>> import cropcal
>>> season = cropcal.open("my-shelf")
>>> plan = season.plan()
>>> plan.sowings
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from cropcal.season.errors import SpaceError as SpaceError
    from cropcal.season.plan import Plan as Plan
    from cropcal.season.season import Season as Season
    from cropcal.season.season import open_season as open

    __version__: str

__all__ = ("Plan", "Season", "SpaceError", "__version__", "open")

_HOMES = {
    "Plan": ("cropcal.season.plan", "Plan"),
    "Season": ("cropcal.season.season", "Season"),
    "SpaceError": ("cropcal.season.errors", "SpaceError"),
    "open": ("cropcal.season.season", "open_season"),
}


def __getattr__(name: str) -> Any:
    """Load a public name when it is first asked for, so that ``cropcal --help`` answers at once (PEP 562)."""
    if name == "__version__":
        return import_module("importlib.metadata").version("cropcal")
    if name not in _HOMES:
        message = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(message)
    module, own_name = _HOMES[name]
    return getattr(import_module(module), own_name)


def __dir__() -> list[str]:
    """List the public names for those who look around."""
    return sorted(__all__)

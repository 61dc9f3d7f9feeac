"""The folder of the tables that come with cropcal: in the installed package, or beside it in a checkout."""

from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path


def crop_tables() -> Traversable:
    """Return the folder of shipped tables (``crops/`` of the project).

    Raises
    ------
    FileNotFoundError
        If neither the installed tables nor a checkout's ``crops/`` can be found.
    """
    installed = files("cropcal") / "_crops"
    if installed.is_dir():
        return installed
    checkout = Path(__file__).resolve().parent.parent
    beside = checkout / "crops"
    if beside.is_dir() and (checkout / "pyproject.toml").is_file():
        return beside
    message = f"crop tables are neither at {installed} nor at {beside}: install cropcal again"
    raise FileNotFoundError(message)

"""The entry point of the command: it must be able to end at any moment, so it imports nothing at first."""

# signal itself loads more modules, and Ctrl-C may come while it does
import _signal as signal  # type: ignore[import-not-found]
import gc
import os
import sys

INTERRUPTED = 130
"""Exit code of a command that was ended by Ctrl-C: 128 and the number of the signal."""
OBJECTS_BEFORE_COLLECTING = 500_000
"""Modules and records live until the end, so to look through them for garbage while they load is a quarter of
the time a short command takes. Memory stays bounded: a long search still collects."""


def end(_signal: int, _frame: object) -> None:
    """End at once.

    No exception is raised, for modules that are half loaded, or a solver at work, may not propagate it.
    Nothing is lost: files are written beside their places, and a journal entry in one piece.
    """
    try:
        os.write(sys.__stderr__.fileno() if sys.__stderr__ else 2, b"\nStopped.\n")
    finally:
        os._exit(INTERRUPTED)


def run() -> None:
    """Run the command line."""
    signal.signal(signal.SIGINT, end)
    gc.set_threshold(OBJECTS_BEFORE_COLLECTING)
    os.environ.setdefault(
        "PYDANTIC_DISABLE_PLUGINS", "1"
    )  # else it reads what every installed package offers
    try:
        from cropcal.cli.main import app

        app()
    except BrokenPipeError:
        sys.stderr.close()
        raise SystemExit(0) from None
    finally:
        gc.freeze()  # Python would look through all that lives once more before it ends

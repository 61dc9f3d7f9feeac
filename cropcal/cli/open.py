"""``cropcal open``: serve a space to a browser on this computer until Ctrl-C."""

import threading
from pathlib import Path

import typer

from cropcal.season.load import load, refuse_one


def serve_space(path: Path, port: int, *, browser: bool) -> None:
    """Serve a space; print its link first, then open it in the browser if wanted.

    Raises
    ------
    SpaceError
        If the space has mistakes, or the port is taken.
    """
    load(path)
    from cropcal.serve.security import Doors, Keys
    from cropcal.serve.server import LOOPBACK, listening, run

    try:
        listener = listening(port)
    except OSError as error:
        expected = "a free port, or none: then one is found"
        refuse_one("--port", f"{port} ({(error.strerror or str(error)).lower()})", expected)
    port = listener.getsockname()[1]
    keys = Keys.new()
    doors = Doors.at([LOOPBACK], port, keys)
    link = f"http://{LOOPBACK}:{port}/?key={keys.write}"
    from cropcal.serve.app import application
    from cropcal.serve.planner import Planner

    planner = Planner(path)

    def ready() -> None:
        typer.echo(link)
        typer.echo("Open this link in a browser on this computer. Whoever has it can read and write here.")
        typer.echo("Ctrl-C ends it; what was noted is kept.")
        if browser:
            threading.Thread(target=_open_in_browser, args=(link,), daemon=True).start()
        threading.Thread(target=_warm_up, args=(path,), daemon=True).start()

    try:
        run(application(path, doors, planner), [listener], ready)
    finally:
        planner.drop()


def _open_in_browser(link: str) -> None:
    import webbrowser

    webbrowser.open(link)


def _warm_up(path: Path) -> None:
    """Load what the first page needs, while the browser is still starting."""
    from contextlib import suppress

    from cropcal.season.errors import SpaceError
    from cropcal.serve.week_page import week_page

    with suppress(SpaceError):
        week_page(path)

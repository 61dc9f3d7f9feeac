"""``cropcal open``: serve a space to a browser until Ctrl-C, and with ``--home`` to phones."""

import contextlib
import socket
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING

import typer

from cropcal.season.load import PLAN_FOLDER, folder_of, load, refuse_one

if TYPE_CHECKING:
    from cropcal.serve.home.links import Home

_PORTS_TRIED = 5
_WIDTH = 80


@dataclass(frozen=True)
class AtHome:
    """What was asked of ``--home``: an address of this computer, "" for the one found; new keys or not."""

    address: str = ""
    new_keys: bool = False


def serve_space(path: Path, port: int, *, browser: bool, at_home: AtHome | None = None) -> None:
    """Serve a space; print its link first, then open it in the browser if wanted.

    Raises
    ------
    SpaceError
        If the space has mistakes, the port is taken, or the address is not one of a home network.
    """
    load(path)
    from cropcal.serve.security import Doors, Keys
    from cropcal.serve.server import LOOPBACK, run

    home, listeners, notes = _at_home(path, port, at_home) if at_home else (None, [], [])
    listeners = listeners or _listening([LOOPBACK], port)
    used = listeners[0].getsockname()[1]
    keys = home.keys_of_links() if home else Keys.new()
    addresses = [LOOPBACK, *([home.address] if home else [])]
    doors = Doors.at(addresses, used, keys, entrance=home is not None)
    link = f"http://{LOOPBACK}:{used}/?key={keys.write}"
    from cropcal.serve.app import application
    from cropcal.serve.planner import Planner

    planner = Planner(path)

    def ready() -> None:
        typer.echo(link)
        typer.echo("Open this link in a browser on this computer. Whoever has it can read and write here.")
        typer.echo("Ctrl-C ends it; what was noted is kept.")
        if home:
            from cropcal.serve.home.links import can_draw

            typer.echo("\n" + home.words(drawn=can_draw()))
        for note in notes:
            typer.echo("\n" + fill(note, _WIDTH))
        if browser:
            threading.Thread(target=_open_in_browser, args=(link,), daemon=True).start()
        threading.Thread(target=_warm_up, args=(path,), daemon=True).start()

    try:
        run(application(path, doors, planner, home), listeners, ready)
    finally:
        planner.drop()


def _at_home(path: Path, port: int, asked: AtHome) -> tuple["Home | None", list[socket.socket], list[str]]:
    """Return where phones reach the space, its sockets, and what to say; None where there is no network."""
    address, notes = _address(asked)
    if not address:
        return None, [], notes
    from cropcal.serve.home.invitation import Invitation
    from cropcal.serve.home.keys import HomeKeys
    from cropcal.serve.home.links import Home
    from cropcal.serve.server import LOOPBACK

    kept = HomeKeys(folder_of(path) / PLAN_FOLDER, new=asked.new_keys)
    before = kept.place
    listeners = _listening([LOOPBACK, address], port, before[1])
    used = listeners[0].getsockname()[1]
    kept.settle(address, used if port else before[1] or used)
    notes += [*kept.notes, *_moved(before, (address, used))]
    return Home(address, used, kept, Invitation()), listeners, notes


def _address(at_home: AtHome) -> tuple[str, list[str]]:
    """Return the address at which phones can reach this computer, "" if there is none, and what to say.

    Raises
    ------
    SpaceError
        If one was asked for that is none, is not this computer's, or is one of the internet.
    """
    from cropcal.serve.home import links as home
    from cropcal.serve.server import listening

    expected = "an address of this computer in a home network, like 192.168.1.20"
    if not at_home.address:
        address = home.home_address()
        if address is None:
            return "", [f"{home.NO_NETWORK} If it has one all the same, name it with --address."]
        if not home.is_at_home(address):
            return "", [home.ON_THE_INTERNET.format(address)]
        return address, []
    address = at_home.address.strip()
    if not home.is_address(address):
        refuse_one("--address", f'"{address}"', expected)
    if not home.is_at_home(address):
        refuse_one("--address", f"{address}, an address of the internet", expected)
    try:
        listening(0, address).close()
    except OSError:
        refuse_one("--address", f"{address}, which is not this computer's", expected)
    return address, []


def _listening(addresses: Sequence[str], port: int, last: int = 0) -> list[socket.socket]:
    """Return a socket for each address, all at one port: the one asked for, else that of last time, else any.

    Raises
    ------
    SpaceError
        If the port that was asked for cannot be had.
    """
    for wanted in [port] if port else [*([last] if last else []), *[0] * _PORTS_TRIED]:
        try:
            return _all_at(addresses, wanted)
        except OSError as error:
            failed = error
    found = f"{port} ({(failed.strerror or str(failed)).lower()})" if port else "no free port"
    refuse_one("--port", found, "a free port, or none: then one is found")


def _all_at(addresses: Sequence[str], port: int) -> list[socket.socket]:
    from cropcal.serve.server import listening

    with contextlib.ExitStack() as opened:
        listeners: list[socket.socket] = []
        for address in addresses:
            listeners.append(opened.enter_context(listening(port, address)))
            port = listeners[0].getsockname()[1]
        opened.pop_all()
    return listeners


def _moved(before: tuple[str, int], now: tuple[str, int]) -> list[str]:
    """Return why phones and calendars do not find the space where it was last time, if they do not."""
    (address, port), anew = before, "phones and calendars that use it need the links above"
    if not port:
        return []
    return [
        *([f"Port {port} of last time is not used now: {anew}."] if port != now[1] else []),
        *(
            [f"This computer had the address {address} last time: {anew}. Most routers can keep it the same."]
            if address != now[0]
            else []
        ),
    ]


def _open_in_browser(link: str) -> None:
    import webbrowser

    webbrowser.open(link)


def _warm_up(path: Path) -> None:
    """Load what the first page needs, while the browser is still starting."""
    from cropcal.season.errors import SpaceError
    from cropcal.serve.week_page import week_page

    with contextlib.suppress(SpaceError):
        week_page(path)

"""Listen and answer: uvicorn with one process, no more than it needs, and no patience for slow clients."""

import asyncio
import signal
import socket
import sys
from collections.abc import Callable
from types import FrameType
from typing import Any

import h11
import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

from cropcal.serve.security import AsgiApp

LOOPBACK = "127.0.0.1"
HEAD_S = 10.0
"""Seconds in which the first lines of a request have to arrive."""
IDLE_S = 30
ENDING_S = 2
MOST_CONNECTIONS = 100
MOST_OF_ONE = 30
"""Connections from one address, so that one computer cannot take them all; a browser opens six."""
UNREAD_S = 30.0
"""Seconds after which who does not read what was asked for is hung up on."""
MOST_HEAD_BYTES = 16 * 1024


class PatientProtocol(H11Protocol):
    """HTTP/1.1 as uvicorn speaks it, which hangs up where a request does not arrive in time."""

    _patience: asyncio.TimerHandle | None = None
    _unread: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """Begin to wait for a request; hang up on who has too many connections."""
        super().connection_made(transport)
        self.access_log = False  # addresses hold keys, so they are written nowhere
        clients = [getattr(other, "client", None) for other in self.connections]
        if self.client and [client[0] for client in clients if client].count(self.client[0]) > MOST_OF_ONE:
            transport.abort()
        self._wait()

    def data_received(self, data: bytes) -> None:
        """Take what arrived; as long as it is no whole head of a request, go on waiting, but no longer."""
        super().data_received(data)
        self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no more."""
        self._stop_waiting()
        self.resume_writing()
        super().connection_lost(exc)

    def pause_writing(self) -> None:
        """Wait for a client to read what it asked for, but not for ever."""
        super().pause_writing()
        if self._unread is None:
            self._unread = self.loop.call_later(UNREAD_S, self.transport.abort)

    def resume_writing(self) -> None:
        """Go on writing."""
        if self._unread is not None:
            self._unread.cancel()
            self._unread = None
        super().resume_writing()

    def _wait(self) -> None:
        if self.conn.their_state is not h11.IDLE:
            self._stop_waiting()
        elif self._patience is None:
            self._patience = self.loop.call_later(HEAD_S, self.transport.abort)

    def _stop_waiting(self) -> None:
        if self._patience is not None:
            self._patience.cancel()
            self._patience = None


def listening(port: int, address: str = LOOPBACK) -> socket.socket:
    """Return a socket that takes connections at a port of this computer; port 0 is any free one.

    Raises
    ------
    OSError
        If the port cannot be had.
    """
    taken = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if sys.platform != "win32":  # there it would let two programs share a port
            taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        taken.bind((address, port))
        taken.listen(MOST_CONNECTIONS)
    except OSError:
        taken.close()
        raise
    return taken


def config_of(app: AsgiApp) -> uvicorn.Config:
    """Return how uvicorn serves: silent, without what the pages do not need, and with limits."""
    return uvicorn.Config(
        app,
        http=PatientProtocol,
        ws="none",
        lifespan="off",
        loop="asyncio",
        log_config=None,
        log_level="error",  # who sends nonsense shall not fill the terminal
        access_log=False,
        server_header=False,
        proxy_headers=False,
        timeout_keep_alive=IDLE_S,
        timeout_graceful_shutdown=ENDING_S,
        limit_concurrency=MOST_CONNECTIONS,
        h11_max_incomplete_event_size=MOST_HEAD_BYTES,
    )


def run(app: AsgiApp, sockets: list[socket.socket], ready: Callable[[], None]) -> None:
    """Answer requests until Ctrl-C, or the signal to end, then return.

    ``ready`` is called once either would end the server in good order.
    """
    server = uvicorn.Server(config_of(app))

    def end(_signal: int, _frame: FrameType | None) -> None:
        server.should_exit = True

    before = {name: signal.signal(name, end) for name in (signal.SIGINT, signal.SIGTERM)}
    try:
        ready()
        server.run(sockets)  # raises the signal that ended it once more, for whom it was before: for ``end``
    finally:
        for name, handler in before.items():
            signal.signal(name, handler)

"""What every request has to pass before it reaches a page: host, key, origin, kind and size of a form.

A page on this computer can be reached by every program on it, and by every website that the browser has open.
So nothing is shown without the key of the link, and nothing is written unless the form came from a page of
our own. No cropcal module is needed here, and no library: it is plain ASGI.
"""

import asyncio
import secrets
from collections.abc import Awaitable, Callable, Iterable, Mapping, MutableMapping
from dataclasses import dataclass
from typing import Any, Literal
from urllib.parse import parse_qsl

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
AsgiApp = Callable[[Scope, Receive, Send], Awaitable[None]]
Right = Literal["write", "read"]

FORM = "application/x-www-form-urlencoded"
MOST_FORM_BYTES = 64 * 1024
FORM_S = 10.0
"""Seconds in which a form has to arrive."""
MOST_QUERY_BYTES = 4096
MAY_WRITE = "cropcal.may_write"
"""Key of the ASGI scope that says whether the request came with a key that writes."""
ENTRANCE = "/phone"
"""Where a code lets a phone in; with its look, the only page that is shown without a key."""
OPEN_TO_ALL = (ENTRANCE, "/page.css", "/icon.svg")
CALENDAR = "/calendar.ics"
"""What a phone's calendar subscribes to, with a key of its own in its address."""
READ_COOKIE = "-read"
"""End of the name of the cookie that only reads, so that it never takes the place of the other."""
KEPT_S = 365 * 24 * 3600
"""How long a phone keeps its key [s]."""

POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; connect-src 'self'; img-src 'self'; "
    "frame-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
OPENER = "cross-origin-opener-policy"
HEADERS: Mapping[str, str] = {
    "content-security-policy": POLICY,
    "x-frame-options": "DENY",
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",  # with "no-referrer" a browser hides the origin of our own forms too
    OPENER: "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}
"""Headers of every answer; a page may set its own in place of one of them."""


@dataclass(frozen=True)
class Keys:
    """The secrets of the links; "" if there is no such link.

    Attributes
    ----------
    write, read
        Lets its holder read and write, or read only.
    calendar
        Gives the calendar, and no page.
    is_phone
        Whether a key is that of a phone which was let in; it may read and write.
    """

    write: str
    read: str = ""
    calendar: str = ""
    is_phone: Callable[[str], bool] = lambda _key: False

    @classmethod
    def new(cls) -> "Keys":
        """Return a new random key that writes, and no other."""
        return cls(new_key())

    def right(self, key: str) -> Right | None:
        """Return what a key allows, None if it is not one of ours; the time taken says nothing about it."""
        writes, reads = is_same(key, self.write), is_same(key, self.read)
        return "write" if writes or self.is_phone(key) else "read" if reads else None

    def opens_calendar(self, key: str) -> bool:
        """Return whether a key is that of the calendar."""
        return is_same(key, self.calendar)


def new_key() -> str:
    """Return a random key of 256 bits."""
    return secrets.token_urlsafe(32)


def is_same(given: str, key: str) -> bool:
    """Return whether a key was given; none is the empty one."""
    return secrets.compare_digest(given.encode("utf-8", "surrogatepass"), key.encode()) and bool(key)


@dataclass(frozen=True)
class Doors:
    """Where the space is served: the hosts by which it may be called, and the keys.

    Attributes
    ----------
    hosts
        Every allowed value of the Host header, like "127.0.0.1:8123". Forms may come from ``http://`` and the
        same host alone.
    keys
        The keys of the links.
    cookie
        Name of the cookie that keeps a key in the browser. It holds the port, for browsers send the cookies
        of one port to all ports of a computer.
    entrance
        Whether a one-time code may be typed by somebody who has no key.
    """

    hosts: frozenset[str]
    keys: Keys
    cookie: str
    entrance: bool = False

    @classmethod
    def at(cls, addresses: Iterable[str], port: int, keys: Keys, *, entrance: bool = False) -> "Doors":
        """Return the doors of some addresses of this computer at a port."""
        named = [f"{address}:{port}" for address in addresses]
        plain = list(addresses) if port == 80 else []
        return cls(frozenset([*named, *plain]), keys, f"cropcal-{port}", entrance)

    def cookie_of(self, key: str, right: Right, *, lasting: bool) -> str:
        """Return the header that keeps a key in a browser: until it is closed, or ``lasting``.

        The cookie that only reads comes along when another site's link leads here, as from a message in the
        same browser; by that way nothing can be written.
        """
        name, site = (self.cookie, "Strict") if right == "write" else (self.cookie + READ_COOKIE, "Lax")
        age = f"; Max-Age={KEPT_S}" if lasting else ""
        return f"{name}={key}; Path=/; HttpOnly; SameSite={site}{age}"


@dataclass(frozen=True)
class Refusal:
    """Why a request is turned away: status, a sentence for whoever sees it, and headers of its own."""

    status: int
    words: str
    headers: tuple[tuple[str, str], ...] = ()


NO_KEY = Refusal(
    401, "This page opens with the link that cropcal open printed. Copy that link, with its key, into here."
)
WRONG_KEY = Refusal(
    403, "The key of this link does not fit, or is an old one. Use the link that cropcal open printed last."
)
OTHER_HOST = Refusal(421, "This address is not one under which this space is served.")
OTHER_ORIGIN = Refusal(403, "This did not come from a page of this space, so nothing was written.")
READ_ONLY = Refusal(403, "This link only reads, so nothing was written.")
NO_SUCH_WAY = Refusal(405, "Pages are read with GET and written with POST.", (("allow", "GET, HEAD, POST"),))
NO_FORM = Refusal(415, "Only a form can be sent here, so nothing was written.")
HANG_UP = (("connection", "close"),)
TOO_LARGE = Refusal(413, "This is more than a form holds, so nothing was written.", HANG_UP)
TOO_SLOW = Refusal(408, "The form did not arrive in time, so nothing was written.", HANG_UP)
TWO_LENGTHS = Refusal(400, "This request has two lengths, so nothing was written.", HANG_UP)
LONG_QUERY = Refusal(414, "This address is too long.")


class Guard:
    """ASGI middleware that lets only requests through which may be answered, each with its whole body."""

    def __init__(self, app: AsgiApp, doors: Doors) -> None:
        self.app, self.doors = app, doors

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it."""
        if scope["type"] != "http":
            return  # no websocket, and nothing to do at start and end
        guarded = _with_headers(send, _is_loopback(scope))
        refused = self._refusal(scope)
        if refused is None and scope["path"] == "/" and _key_of(scope) is not None:
            refused = self._exchange(scope)
        refused = refused or self._without_right(scope)
        if refused is None and scope["method"] == "POST":
            body = await _body(receive)
            if isinstance(body, Refusal):
                refused = body
            else:
                receive = _replayed(body, receive)
        if refused is not None:
            await _refuse(refused, scope, guarded)
        else:
            await self.app(scope, receive, guarded)

    def _refusal(self, scope: Scope) -> Refusal | None:
        """Return why a request is refused whoever sends it; the host comes first."""
        hosts = _header(scope, b"host")
        if len(hosts) != 1 or hosts[0].lower() not in self.doors.hosts:
            return OTHER_HOST
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return NO_SUCH_WAY
        if len(scope.get("query_string", b"")) > MOST_QUERY_BYTES:
            return LONG_QUERY
        if _header(scope, b"transfer-encoding") and _header(scope, b"content-length"):
            return TWO_LENGTHS  # where it ends is open to dispute (RFC 9112, 6.3)
        return None

    def _exchange(self, scope: Scope) -> Refusal:
        """Return the answer to a link with a key: a cookie and the way to the page, so the key is not kept.

        The way is always to the first page, so that no link leads elsewhere.
        """
        key = _key_of(scope) or ""
        right = self.doors.keys.right(key)
        if scope["method"] == "POST" or right is None:
            return WRONG_KEY
        cookie = self.doors.cookie_of(key, right, lasting=right == "read")
        return Refusal(303, "", (("location", "/"), ("set-cookie", cookie)))

    def _without_right(self, scope: Scope) -> Refusal | None:
        """Return why a request may not read, or not write; note in its scope whether it may write."""
        key = _key_of(scope) if scope["path"] == CALENDAR and scope["method"] != "POST" else None
        if key is not None:
            return None if self.doors.keys.opens_calendar(key) else WRONG_KEY
        kept = [*_cookies(scope, self.doors.cookie), *_cookies(scope, self.doors.cookie + READ_COOKIE)]
        rights = {self.doors.keys.right(key) for key in kept} - {None}
        if not rights and not self._enters(scope):
            return WRONG_KEY if kept else NO_KEY
        scope[MAY_WRITE] = "write" in rights
        if scope["method"] != "POST":
            return None
        if not _is_own_form(scope):
            return OTHER_ORIGIN
        if not scope[MAY_WRITE] and scope["path"] != ENTRANCE:
            return READ_ONLY
        kinds = [kind.split(";")[0].strip().lower() for kind in _header(scope, b"content-type")]
        if kinds != [FORM]:
            return NO_FORM
        lengths = _header(scope, b"content-length")
        if any(not length.isdecimal() or int(length) > MOST_FORM_BYTES for length in lengths):
            return TOO_LARGE
        return None

    def _enters(self, scope: Scope) -> bool:
        """Return whether a request needs no key; whoever comes to the first page is led to the entrance."""
        if not self.doors.entrance:
            return False
        if scope["path"] == "/" and scope["method"] != "POST":
            scope["path"] = ENTRANCE
            scope["raw_path"] = ENTRANCE.encode()
        return scope["path"] in OPEN_TO_ALL


def _is_loopback(scope: Scope) -> bool:
    """Return whether a request calls this computer by its loopback address."""
    return any(host.startswith("127.0.0.1") for host in _header(scope, b"host"))


def _header(scope: Scope, name: bytes) -> list[str]:
    return [value.decode("latin-1") for key, value in scope["headers"] if key.lower() == name]


def _key_of(scope: Scope) -> str | None:
    """Return the key in the address, None if there is none; "" if there are several."""
    query = scope.get("query_string", b"").decode("latin-1")
    found = [value for name, value in parse_qsl(query, keep_blank_values=True) if name == "key"]
    return None if not found else found[0] if len(found) == 1 else ""


def _cookies(scope: Scope, name: str) -> list[str]:
    """Return the values of a cookie; another program of this computer may have set one of the same name."""
    pairs = (pair.partition("=") for line in _header(scope, b"cookie") for pair in line.split(";"))
    return [value.strip() for key, _, value in pairs if key.strip() == name]


def _is_own_form(scope: Scope) -> bool:
    """Return whether a form came from a page of ours: browsers name its origin, and how it got here."""
    host = _header(scope, b"host")[0].lower()
    origins, sites = _header(scope, b"origin"), _header(scope, b"sec-fetch-site")
    if any(site != "same-origin" for site in sites) or any(
        origin.lower() != f"http://{host}" for origin in origins
    ):
        return False
    return bool(origins or sites)


async def _body(receive: Receive) -> bytes | Refusal:
    """Return the whole body of a request, if it is small and quick enough."""
    body = bytearray()
    try:
        async with asyncio.timeout(FORM_S):
            while True:
                message = await receive()
                if message["type"] == "http.disconnect":
                    return TOO_SLOW
                body += message.get("body", b"")
                if len(body) > MOST_FORM_BYTES:
                    return TOO_LARGE
                if not message.get("more_body", False):
                    return bytes(body)
    except TimeoutError:
        return TOO_SLOW


def _replayed(body: bytes, receive: Receive) -> Receive:
    """Return a function that gives the body at once, then what comes after it."""
    waiting: list[Message] = [{"type": "http.request", "body": body, "more_body": False}]

    async def replay() -> Message:
        return waiting.pop() if waiting else await receive()

    return replay


def _with_headers(send: Send, is_loopback: bool) -> Send:
    """Return a function that adds the headers of every answer to those that the page did not set.

    Of plain HTTP from another computer, browsers take no opener policy, and say so in their console.
    """
    added = {name: value for name, value in HEADERS.items() if is_loopback or name != OPENER}

    async def guarded(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = list(message.get("headers", []))
            known = {name.lower() for name, _ in headers}
            own = ((name.encode(), value.encode()) for name, value in added.items())
            message = {**message, "headers": [*headers, *(pair for pair in own if pair[0] not in known)]}
        await send(message)

    return guarded


async def _refuse(refused: Refusal, scope: Scope, send: Send) -> None:
    body = b""
    if refused.words:
        body = (
            '<!doctype html><html lang="en"><meta charset="utf-8">'
            '<meta name="viewport" content="width=device-width">'
            f"<title>cropcal</title><h1>cropcal</h1><p>{refused.words}</p></html>"
        ).encode()
    headers = [("content-type", "text/html; charset=utf-8"), ("content-length", str(len(body)))]
    fields = [(name.encode(), value.encode()) for name, value in [*headers, *refused.headers]]
    await send({"type": "http.response.start", "status": refused.status, "headers": fields})
    await send({"type": "http.response.body", "body": b"" if scope["method"] == "HEAD" else body})

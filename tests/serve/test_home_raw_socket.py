"""Attacks on a real server in a home network, by hand over a socket: none reads, none writes, all end."""

import asyncio
import contextlib
import logging
import socket
import threading
import time
from urllib.parse import urlencode

import pytest
from served import FORM, day, write_space
from served_home import WRITE, serve_home

from cropcal.serve import security, server

HEARD = (b"HTTP/1.1 400", b"HTTP/1.1 401", b"HTTP/1.1 403", b"HTTP/1.1 404", b"HTTP/1.1 405", b"HTTP/1.1 408",
         b"HTTP/1.1 413", b"HTTP/1.1 414", b"HTTP/1.1 415", b"HTTP/1.1 421", b"HTTP/1.1 431")  # fmt: skip
NAME = b"Boot room"
LOCAL, PHONE, OTHER = "127.0.0.1", "127.0.0.2", "127.0.0.3"


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    return write_space(tmp_path_factory.mktemp("served") / "shelf")


@pytest.fixture(scope="module")
def running(shelf):
    """Serve on two addresses, as --home does, with little patience; return the port and what is at home."""
    try:
        at_home = server.listening(0, PHONE)
    except OSError:
        pytest.skip("this system has no second loopback address")
    port = at_home.getsockname()[1]
    listeners = [server.listening(port), at_home]
    app, home = serve_home(shelf, port=port, address=PHONE)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(server, "HEAD_S", 0.4)
        patched.setattr(server, "UNREAD_S", 0.4)
        patched.setattr(security, "FORM_S", 0.4)
        import uvicorn

        serving = uvicorn.Server(server.config_of(app))
        thread = threading.Thread(target=lambda: asyncio.run(serving.serve(listeners)), daemon=True)
        thread.start()
        yield port, home
        serving.should_exit = True
        thread.join(10)


@pytest.fixture
def port(running):
    return running[0]


@pytest.fixture(autouse=True)
def usual(running, shelf):
    """After each attack a usual request is answered, and no file is another one than before."""
    before = {path: path.read_bytes() for path in shelf.rglob("*") if path.is_file()}
    yield
    head = f"GET /plan HTTP/1.1\r\nHost: {PHONE}:{running[0]}\r\nConnection: close\r\n"
    heard = ask(running[0], f"{head}Cookie: cropcal-{running[0]}={WRITE}\r\n\r\n".encode())
    assert heard.startswith(b"HTTP/1.1 200")
    assert b"Plan again" in heard
    assert {path: path.read_bytes() for path in shelf.rglob("*") if path.is_file()} == before


@contextlib.contextmanager
def line_to(port, source="127.0.0.1", wait_s=8.0):
    with socket.create_connection((PHONE, port), timeout=wait_s, source_address=(source, 0)) as line:
        yield line


def hear(line):
    """Return all that comes until the server hangs up; a timeout is an error."""
    heard = b""
    with contextlib.suppress(ConnectionError):
        while more := line.recv(65536):
            heard += more
    return heard


def ask(port, data, source="127.0.0.1"):
    """Return what the server answers to some bytes until it hangs up."""
    with line_to(port, source) as line:
        with contextlib.suppress(ConnectionError):
            line.sendall(data)
        return hear(line)


def head_of(port, first="GET / HTTP/1.1", *more, host=None, key=""):
    """Return the head of a request, without the empty line."""
    cookie = [f"Cookie: cropcal-{port}={key}"] if key else []
    lines = [first, f"Host: {host or f'{PHONE}:{port}'}", *cookie, *more]
    return "\r\n".join(lines).encode("latin-1") + b"\r\n"


def tick(port, *more, key=WRITE, origin=True):
    """Return the head of a form that would be noted, but for its token."""
    own = [f"Origin: http://{PHONE}:{port}"] if origin else []
    return head_of(port, "POST /tick HTTP/1.1", f"Content-Type: {FORM}", *own, *more, key=key)


def refused(heard):
    """Require that nothing was read: a refusal, or the line hung up."""
    assert heard == b"" or heard.startswith(HEARD), heard[:200]
    assert NAME not in heard
    assert b"set-cookie" not in heard.lower()


def test_drips(port):
    """One sign after another, in the first line, in the headers, in the form: the line is hung up in time."""
    body = tick(port, "Content-Length: 900") + b"\r\n"
    for start, drip in (
        (b"", b"G"),
        (head_of(port), b"X: a\r\n"),
        (head_of(port) + b"X: ", b"a"),
        (body, b"a"),
    ):
        with line_to(port) as line:
            line.sendall(start)
            began = time.monotonic()
            with contextlib.suppress(ConnectionError):
                while time.monotonic() - began < 6:
                    line.sendall(drip)
                    time.sleep(0.05)
            assert time.monotonic() - began < 6
            refused(hear(line))


def test_many_slow_ones_at_once(port):
    """Sixty halves of a request from two addresses: a usual one is answered meanwhile, from a third."""
    with contextlib.ExitStack() as lines:
        held = [lines.enter_context(line_to(port, source)) for source in (LOCAL, PHONE) for _ in range(30)]
        for line in held:
            line.sendall(b"GET / HTTP/1.1\r\nHost: ")
        heard = ask(port, head_of(port, "GET / HTTP/1.1", "Connection: close") + b"\r\n", OTHER)
        assert heard.startswith(b"HTTP/1.1 401")
        assert [hear(line) for line in held] == [b""] * len(held)


def test_one_computer_cannot_take_all_connections(port):
    """Of two hundred from one address most are hung up on at once; another address is served."""
    with contextlib.ExitStack() as lines:
        held = [lines.enter_context(line_to(port, OTHER)) for _ in range(200)]
        heard = ask(port, head_of(port, "GET / HTTP/1.1", "Connection: close") + b"\r\n")
        assert heard.startswith(b"HTTP/1.1 401")
        assert [hear(line) for line in held] == [b""] * len(held)


@pytest.mark.parametrize(
    "headers",
    [["X: " + "a" * 70_000], [f"X{number}: a" for number in range(6000)], ["X: a", " folded: b"], ["X\0: a"],
     ["X: \0"], ["X : a"], ["X a: b"], [": b"], ["no colon"], ["Host: evil.example"], ["Content-Length: -1"],
     ["Content-Length: 1, 1"], ["Content-Length: 0x5"], ["Transfer-Encoding: chunked, gzip"],
     ["Transfer-Encoding: xchunked"], ["Transfer-Encoding:\x0bchunked"], ["Cookie: " + "a=b; " * 3000]],
    ids=lambda headers: headers[0][:24].encode("ascii", "backslashreplace").decode(),
)  # fmt: skip
def test_broken_and_huge_headers(port, headers):
    """With a key that writes too: what is not clearly one request is none."""
    refused(ask(port, tick(port, *headers, "Connection: close") + b"\r\na=bcd"))


@pytest.mark.parametrize(
    "body",
    [b"zz\r\nabc\r\n", b"ffffffffffffffffffffffff\r\nabc", b"-5\r\nabc\r\n0\r\n\r\n", b"5\nabcde\n0\n\n",
     b"0x5\r\nabcde\r\n0\r\n\r\n", b"5;" + b"a" * 40_000 + b"\r\nabcde\r\n0\r\n\r\n", b"5\r\nabc",
     b"3\r\nabcde\r\n0\r\n\r\n", b"1\r\na\r\n" * 30_000, b"0\r\nX: " + b"a" * 40_000 + b"\r\n\r\n",
     b"5\r\na=bcd\r\n0\r\nHost: evil\r\n\r\n"],
    ids=lambda body: repr(body[:16]),
)  # fmt: skip
def test_bad_chunks(port, body):
    """No size, a huge one, one below zero, one that lies, no end, too many, a trailer."""
    head = tick(port, "Transfer-Encoding: chunked", "Connection: close")
    refused(ask(port, head + b"\r\n" + body))


def test_pipelined_requests_are_each_guarded(port):
    """Behind a good request of the owner come some without a key, and a form without an origin."""
    asked = [
        head_of(port, key=WRITE),
        head_of(port),
        head_of(port, "GET /journal HTTP/1.1"),
        tick(port, "Content-Length: 5", origin=False) + b"\r\na=bcd",
        head_of(port, host="evil.example", key=WRITE),
    ]
    data = b"".join(part if part.startswith(b"POST") else part + b"\r\n" for part in asked)
    heard = ask(port, data + head_of(port, "GET /plan HTTP/1.1", "Connection: close") + b"\r\n")
    answers = [part[:3] for part in heard.split(b"HTTP/1.1 ")[1:]]
    assert answers == [b"200", b"401", b"401", b"403", b"421", b"401"]


def test_two_lengths_smuggle_no_second_request(port):
    """A form inside the body of a form, by a length and a chunked body at once, is no request of its own."""
    inner = tick(port, "Content-Length: 5") + b"\r\na=bcd"
    head = tick(port, f"Content-Length: {len(inner) + 5}", "Transfer-Encoding: chunked", key="")
    heard = ask(port, head + b"\r\n0\r\n\r\n" + inner)
    assert heard.startswith(b"HTTP/1.1 400")
    assert heard.count(b"HTTP/1.1") == 1


@pytest.mark.parametrize(
    "first",
    ["GET http://evil.example/ HTTP/1.1", "GET http://{home}/journal HTTP/1.1",
     "GET //evil.example/ HTTP/1.1", "GET file:///etc/passwd HTTP/1.1",
     "CONNECT {home} HTTP/1.1", "OPTIONS * HTTP/1.1", "GET * HTTP/1.1",
     "GET  / HTTP/1.1", "GET /", "GET / HTTP/9.9", "GET / HTTP/1.1 x", "PRI * HTTP/2.0", "get / HTTP/1.1",
     "GET /journal?key={key} HTTP/1.1", "TRACE / HTTP/1.1", "G\0T / HTTP/1.1", "GET /\x7f HTTP/1.1"],
)  # fmt: skip
def test_odd_first_lines(port, first):
    """Absolute addresses, other forms of a target, other versions: without a key nothing is seen."""
    line = first.format(home=f"{PHONE}:{port}", key=WRITE)
    refused(ask(port, head_of(port, line, "Connection: close") + b"\r\n"))


@pytest.mark.parametrize(
    "target", ["http://evil.example/journal", "http://{home}/journal", "//evil.example/"]
)
def test_an_absolute_address_with_the_key_is_no_page(port, target):
    line = f"GET {target.format(home=f'{PHONE}:{port}')} HTTP/1.1"
    heard = ask(port, head_of(port, line, "Connection: close", key=WRITE) + b"\r\n")
    assert heard.startswith(b"HTTP/1.1 404")
    assert NAME not in heard


@pytest.mark.parametrize(
    "path",
    ["/phone/../journal", "/phone%2f..%2fjournal", "/phone/%2e%2e/journal", "/phone;/journal", "/phone%00",
     "/page.css/../space.toml", "/page.css%2f..%2f..%2fspace.toml", "/%2e%2e/space.toml", "/./journal",
     "/calendar.ics/../journal", "/calendar.ics%3Fkey=x", "/plan/.home-keys.json", "/plan/%2ehome-keys.json",
     "/%70hone/x", "/phone\\..\\journal", "/icon.svg/..%5cspace.toml", "/..;/journal",
     "/%c0%ae%c0%ae/space.toml"],
)  # fmt: skip
def test_path_tricks(port, path):
    """Neither past the key, nor with it to a file, the one with the keys least of all."""
    refused(ask(port, head_of(port, f"GET {path} HTTP/1.1", "Connection: close") + b"\r\n"))
    heard = ask(port, head_of(port, f"GET {path} HTTP/1.1", "Connection: close", key=WRITE) + b"\r\n")
    assert heard.startswith((b"HTTP/1.1 400", b"HTTP/1.1 404")), heard[:80]
    assert b"watts" not in heard
    assert b'"read"' not in heard


@pytest.mark.parametrize(
    "query",
    ["key=x%0d%0aSet-Cookie:%20a=b", "key={key}%0d%0aSet-Cookie:%20a=b", "on=%0d%0aX-Evil:%20a",
     "of=%0d%0aX-Evil:%20a", "once=%0d%0aX-Evil:%20a", "key=x\rSet-Cookie:a=b", "key=%00{key}",
     "key={key}%20", "key=%ff%fe", "key[]={key}", "a=b;key={key}", "once=" + "a" * 3000],
)  # fmt: skip
def test_line_ends_in_the_query(port, query):
    line = f"GET /?{query.format(key=WRITE)} HTTP/1.1"
    heard = ask(port, head_of(port, line, "Connection: close") + b"\r\n")
    refused(heard)
    assert b"\r\nx-evil" not in heard.lower().split(b"\r\n\r\n")[0]


@pytest.mark.parametrize(
    "lines",
    [["X-Forwarded-Host: {home}"], ["Forwarded: host={home}"], ["X-Original-URL: /journal"],
     ["X-Rewrite-URL: /journal"], ["X-Forwarded-For: 127.0.0.1"],
     ["Upgrade: websocket", "Connection: Upgrade"],
     ["Upgrade: h2c", "Connection: Upgrade, HTTP2-Settings", "HTTP2-Settings: AAMAAABk"],
     ["Authorization: Bearer {key}"], ["X-Key: {key}"], ["Cookie: cropcal={key}"],
     ["Cookie: cropcal-1={key}"]],
)  # fmt: skip
def test_headers_that_other_servers_trust(port, lines):
    home = f"{PHONE}:{port}"
    filled = [line.format(home=home, key=WRITE) for line in lines]
    close = [] if any("Connection" in line for line in filled) else ["Connection: close"]
    for host in (home, "evil.example"):
        with line_to(port, wait_s=1.0) as line:
            line.sendall(head_of(port, "GET / HTTP/1.1", *filled, *close, host=host) + b"\r\n")
            refused(line.recv(65536))


def test_other_protocols(port):
    """The hello of TLS, an HTTP/2 preface, a request of 1991, noise."""
    hello = b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + bytes(500)
    http_2, old, older = (
        b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n",
        b"GET / HTTP/1.0\r\n\r\n",
        b"GET /journal\r\n\r\n",
    )
    for data in (hello, http_2, old, older, bytes(range(256)) * 200, b"\r\n" * 5000):
        refused(ask(port, data))


def test_who_does_not_read_is_hung_up_on(port, shelf):
    """Big answers asked for over and over, and none read: the line ends, and the server does not wait."""
    report = shelf / "plan" / "report.html"
    report.write_text("a" * 3_000_000)
    try:
        with line_to(port) as line:
            line.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
            asked = head_of(port, "GET /plan/report.html HTTP/1.1", key=WRITE) + b"\r\n"
            began, ended = time.monotonic(), False
            while not ended and time.monotonic() - began < 6:
                try:
                    line.sendall(asked)
                except ConnectionError:
                    ended = True
                time.sleep(0.05)
            assert ended
    finally:
        report.unlink()


def test_a_form_that_waits_for_leave_is_not_waited_for(port):
    head = tick(port, "Content-Length: 5", "Expect: 100-continue", "Connection: close")
    heard = ask(port, head + b"\r\n")
    assert b" 408 " in heard


def test_codes_are_guessed_over_many_lines(running):
    """Over eight lines at once: five answers, then the right code is refused too, and all write nothing."""
    port, home = running
    right = home.invitation.new().code
    page = ask(port, head_of(port, "GET / HTTP/1.1", "Connection: close") + b"\r\n").decode()
    token = page.split('name="token" value="')[1].split('"')[0]

    def guess(code):
        body = urlencode({"token": token, "code": code}).encode()
        more = (f"Content-Type: {FORM}", f"Origin: http://{PHONE}:{port}", f"Content-Length: {len(body)}")
        return ask(port, head_of(port, "POST /phone HTTP/1.1", *more, "Connection: close") + b"\r\n" + body)

    heard = []
    wrong = [f"{(int(right) + number) % 10**6:06}" for number in range(1, 9)]
    threads = [threading.Thread(target=lambda code=code: heard.append(guess(code))) for code in wrong]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    heard.append(guess(right))
    assert all(answer.startswith(b"HTTP/1.1 403") for answer in heard)
    assert sum(b"does not fit" in answer for answer in heard) == 4
    assert home.keys.phones == 0


def test_no_key_is_written_anywhere(running, capfd, caplog):
    """Not by good requests, nor by broken ones, nor by those that fail: nothing at all is printed."""
    port, home = running
    caplog.set_level(logging.INFO)
    for key in (WRITE, home.keys.read, home.keys.calendar, home.invitation.new().token):
        for target in (f"/?key={key}", f"/calendar.ics?key={key}", f"/phone?once={key}", f"/{key}"):
            ask(port, head_of(port, f"GET {target} HTTP/1.1", "Connection: close", key=key) + b"\r\n")
            ask(port, head_of(port, f"GET {target} HTTP/1.1", "X : a", key=key) + b"\r\n")
    ask(port, tick(port, "Content-Length: 900", key=WRITE) + b"\r\n" + f"job=sow.1220a.{day(0)}".encode())
    printed = capfd.readouterr()
    assert printed.out + printed.err + caplog.text == ""

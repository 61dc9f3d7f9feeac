"""Attacks on the served pages: none reads what is in them, and none writes a line."""

import asyncio
import socket
import threading
import time
from urllib.parse import unquote, urlencode

import pytest
from served import FORM, HOST, KEYS, PORT, SPACE, Window, day, serve, window, write_space

from cropcal.serve import security, server
from cropcal.serve.forms import LONGEST_FIELD, MOST_FIELDS, BadFormError, Tokens, fields_of
from cropcal.serve.security import MOST_FORM_BYTES, Doors, Keys

NAME = "Boot room"
TICK = f"sow.1220a.{day(0)}"


@pytest.fixture(scope="module")
def shelf(tmp_path_factory):
    return write_space(tmp_path_factory.mktemp("served") / "shelf")


@pytest.fixture(scope="module")
def app(shelf):
    return serve(shelf)


@pytest.fixture(scope="module")
def page(app):
    return window(app)


@pytest.fixture(scope="module")
def tick(page):
    """Return a form that would be noted if it came from a page of ours."""
    return page.get().form("/tick", job=TICK)


@pytest.fixture(autouse=True)
def nothing_written(shelf):
    """Whatever a test sends, no journal comes of it, and no file of the space changes."""
    before = {path: path.read_bytes() for path in shelf.rglob("*") if path.is_file()}
    yield
    assert {path: path.read_bytes() for path in shelf.rglob("*") if path.is_file()} == before


def secret(answer, status):
    """Require a refusal that says nothing of the space, in a page that runs nothing."""
    assert answer.status in status, (answer.status, answer.text)
    assert NAME not in answer.text
    assert "1220a" not in answer.text
    assert "default-src 'none'" in answer.headers["content-security-policy"]


def own(**changes):
    """Return the headers of a form of ours, some of them changed, or left out where None."""
    usual = {"origin": f"http://{HOST}", "sec-fetch-site": "same-origin", "content-type": FORM}
    return [(name, value) for name, value in {**usual, **changes}.items() if value is not None]


def send(page, tick, headers, target="/tick", method="POST", **more):
    return page.call(method, target, page.headers(*headers), urlencode(tick).encode(), **more)


@pytest.mark.parametrize(
    "target",
    ["/", "/journal", "/plan", "/plan/report.html", "/again", "/again/state", "/page.css", "/nothing"],
)
def test_without_the_key_nothing_is_seen(app, target):
    secret(Window(app).get(target), {401})


@pytest.mark.parametrize(
    "key",
    ["", "x", KEYS.write[:-1], KEYS.write + "w", "W" * 43, Keys.new().write, "\u00e9" * 20, "a" * 3000],
    ids=range(8),  # a key of chance in a test's name would differ in each process
)
def test_a_wrong_or_an_old_key_opens_nothing(app, key):
    """Neither in the link nor in the cookie, where a program beside ours may have put one."""
    secret(Window(app).get("/?" + urlencode({"key": key})), {403})
    if key.isascii():
        secret(Window(app, {f"cropcal-{PORT}": key}).get("/"), {403})


def test_no_key_is_an_empty_one():
    """Where there is no reading link, nothing opens it."""
    keys = Keys.new()
    assert keys.right("") is None
    assert keys.right(keys.write) == "write"
    assert len({Keys.new().write for _ in range(20)}) == 20
    assert len(keys.write) >= 43


def test_the_key_leaves_the_address(app):
    """The link leads to the page without the key, which a cookie keeps from scripts and other sites."""
    answer = Window(app).call("GET", f"/?key={KEYS.write}", [("host", HOST)])
    assert (answer.status, answer.headers["location"], answer.text) == (303, "/", "")
    kept = answer.headers["set-cookie"]
    assert "HttpOnly" in kept
    assert "SameSite=Strict" in kept
    assert answer.headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    "target",
    [f"//evil.example/?key={KEYS.write}", f"/journal?key={KEYS.write}", f"/?key={KEYS.write}&key=x",
     f"/?key=x&key={KEYS.write}", f"/?KEY={KEYS.write}"],
)  # fmt: skip
def test_a_link_leads_nowhere_else(app, target):
    """No open redirect, and no key by another way than the link that was printed."""
    answer = Window(app).call("GET", target, [("host", HOST)])
    assert answer.status in {401, 403, 404}
    assert "location" not in answer.headers
    assert "set-cookie" not in answer.headers


@pytest.mark.parametrize(
    "host",
    ["evil.example", f"evil.example:{PORT}", "127.0.0.1", "127.0.0.1:1", f"localhost:{PORT}",
     f"{HOST}.evil.example", f"user@{HOST}", "", f"[::1]:{PORT}", f"0.0.0.0:{PORT}", f"2130706433:{PORT}"],
)  # fmt: skip
def test_another_host_name_gets_nothing(page, tick, host):
    """DNS rebinding: a name of the attacker's that leads to this computer; with cookie and key too."""
    secret(page.call("GET", "/", page.headers(host=host)), {421})
    secret(page.call("GET", f"/?key={KEYS.write}", page.headers(host=host)), {421})
    headers = page.headers(*own(origin=f"http://{host}"), host=host)
    secret(page.call("POST", "/tick", headers, urlencode(tick).encode()), {421})


@pytest.mark.parametrize("hosts", [[], [HOST, "evil.example"], [HOST, HOST]])
def test_no_host_or_two_get_nothing(app, hosts):
    cookie = ("cookie", f"cropcal-{PORT}={KEYS.write}")
    secret(Window(app).call("GET", "/", [*(("host", host) for host in hosts), cookie]), {421})


@pytest.mark.parametrize(
    "headers",
    [
        own(origin="http://evil.example"), own(origin="null"), own(origin=f"https://{HOST}"),
        own(origin=f"http://localhost:{PORT}"), own(origin="http://127.0.0.1:9"), own(origin=""),
        own(origin=f"http://{HOST}.evil.example"), own(**{"sec-fetch-site": "cross-site"}),
        own(**{"sec-fetch-site": "same-site"}), own(**{"sec-fetch-site": "none"}),
        own(origin=None, **{"sec-fetch-site": "cross-site"}), own(origin=None, **{"sec-fetch-site": None}),
        [*own(), ("origin", "http://evil.example")],
        own(origin="http://evil.example", **{"sec-fetch-site": None}),
    ],
)  # fmt: skip
def test_a_form_from_elsewhere_writes_nothing(page, tick, headers):
    """A cross-site form with a cookie and a token of ours; every action."""
    for target in ("/tick", "/note", "/undo", "/correct", "/again/start", "/again/keep", "/again/drop"):
        secret(send(page, tick, headers, target), {403})


@pytest.mark.parametrize(
    "kind",
    [None, "text/plain", "application/json", "multipart/form-data; boundary=x", "", f"text/html;{FORM}"],
)
def test_only_a_form_is_taken(page, tick, kind):
    secret(send(page, tick, own(**{"content-type": kind})), {415})


@pytest.mark.parametrize(
    "method", ["GET", "HEAD", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "post"]
)
def test_nothing_is_written_but_by_post(page, tick, method):
    """Not with the fields in the address either, nor by a method that a proxy may be told of."""
    for target in ("/tick", "/undo", "/note", "/again/start", "/again/keep"):
        answer = send(
            page, tick, own(**{"x-http-method-override": "POST"}), f"{target}?{urlencode(tick)}", method
        )
        assert answer.status in {404, 405}


@pytest.mark.parametrize(
    "token", ["", "x", "x.y", "a" * 12 + "." + "0" * 32, Tokens().new(), "\udcff.1", "é.é"], ids=range(7)
)
def test_a_form_without_a_token_of_ours_writes_nothing(page, tick, token):
    """Nor with one of another server, as after a restart."""
    fields = {**tick, "token": token}
    body = urlencode(fields, errors="surrogatepass").encode()
    answer = page.call("POST", "/tick", page.headers(*own()), body)
    assert answer.status == 400


def test_a_form_too_large_is_refused_before_it_is_read(page, tick):
    """By its length, by what really comes, in whatever pieces."""
    many = own(**{"content-length": str(MOST_FORM_BYTES + 1)})
    secret(page.call("POST", "/tick", page.headers(*many), b""), {413})
    piece = b"a" * 4096
    secret(page.call("POST", "/tick", page.headers(*own()), parts=[piece] * 17), {413})
    for length in ("-1", "1e9", "ten", "9" * 400, "+5"):
        wrong = own(**{"content-length": length})
        secret(page.call("POST", "/tick", page.headers(*wrong), b""), {413})
    assert page.call("GET", "/?" + "a" * 5000, page.headers()).status == 414


def test_a_form_that_is_none_is_refused():
    """Too many fields, a field too long, bytes that are no text."""
    with pytest.raises(BadFormError, match="Max number of fields exceeded"):
        fields_of(urlencode({f"a{n}": "b" for n in range(MOST_FIELDS + 1)}).encode())
    with pytest.raises(BadFormError, match=f"a field of {LONGEST_FIELD + 1} characters"):
        fields_of(b"remark=" + b"a" * (LONGEST_FIELD + 1))
    for body in (b"a=%ff", "a=é".encode(), b"\x00\xff"):
        with pytest.raises(BadFormError, match="can't decode byte"):
            fields_of(body)
    assert fields_of(b"on=&on=2026-12-20&a=%0d%0aSet-Cookie:%20x%00") == {
        "on": "2026-12-20",
        "a": "Set-Cookie: x",
    }


@pytest.mark.parametrize(
    "path",
    ["/../space.toml", "/plan/../../space.toml", "/plan/plan.json", "/space.toml", "/journal.csv",
     "/plan/%2e%2e/space.toml", "/plan/report.html/../plan.json", "/plan//etc/passwd", "//etc/passwd",
     "/plan/..\\space.toml", "/plan/report.html%00", "/plan/", "/templates/week.html", "/static/../app.py",
     "/%2e%2e/%2e%2e/etc/passwd", "/again/../tick"],
)  # fmt: skip
def test_only_pages_are_served_and_no_file_by_its_path(page, path):
    """Twice: the path as it stands, and as a server hands it on after decoding."""
    for target in {path, unquote(path)}:
        answer = page.call("GET", "/", page.headers(), scope={"path": target, "raw_path": path.encode()})
        assert answer.status in {404, 405}, target
        assert "watts" not in answer.text
        assert "root:" not in answer.text


@pytest.mark.parametrize("back", ["http://evil.example", "//evil.example", "a\r\nSet-Cookie: b=c", "/\\evil"])
def test_no_field_leads_away_or_into_a_header(page, back):
    """Where a form leads is one of two pages, whatever it says; line ends stay out of every header."""
    fields = (
        page.get().form("/undo")
        if page.get().forms("/undo")
        else {"token": page.get().forms("/tick")[0]["token"]}
    )
    answer = page.post("/undo", {**fields, "line": "zzzzz", "at": back, "week": back}, follow=False)
    assert answer.status == 303
    assert answer.headers["location"].startswith("/?of=")
    assert "set-cookie" not in answer.headers


MARKUP = ["<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "{{ 7 * 7 }}", "javascript:alert(1)"]


@pytest.mark.parametrize("text", MARKUP)
def test_names_are_text(tmp_path, text):
    """Markup in the names of place, batch, note, remark and a mistake is shown as it was typed."""
    folder = write_space(tmp_path / "shelf", note=text)
    quoted = text.replace('"', '\\"')
    (folder / "space.toml").write_text(SPACE.format(place=quoted, bed="long box", start=day(-70)))
    plan = folder / "plan" / "plan.json"
    plan.write_text(plan.read_text().replace("1220b", quoted))
    page = window(serve(folder))
    page.post("/tick", page.get().form("/tick", job=TICK) | {"remark": text})
    blank = page.get().form("/note")
    wrong = page.post("/note", blank | {"event": text, "which": text, "amount": text})
    assert page.get().form("/tick", job=f"sow.{text}.{day(0)}")
    for shown in (page.get(), page.get("/journal"), wrong):
        read = shown.read()
        assert text in read.words
        assert [found for tag, found in read.tags if tag == "script"] == [{"src": "/page.js", "defer": None}]
        assert not {"img", "style", "object"} & {tag for tag, _ in read.tags}
        names = {name for _, found in read.tags for name in found}
        assert not {name for name in names if name.startswith("on") or name == "style"}
        links = {value for _, found in read.tags for name, value in found.items() if name in ("href", "src")}
        assert all(link.startswith(("/", "#")) for link in links if link)


def test_a_forged_report_has_no_origin(page, shelf):
    """The report is a file that anybody may have written: it can neither read our pages nor send a form."""
    answer = page.get("/plan/report.html")
    assert answer.status == 404
    (shelf / "plan" / "report.html").write_text("<script>fetch('/journal')</script>")
    try:
        answer = page.get("/plan/report.html")
        policy = answer.headers["content-security-policy"]
        assert answer.headers["x-frame-options"] == "SAMEORIGIN"
    finally:
        (shelf / "plan" / "report.html").unlink()
    assert policy.startswith("sandbox allow-scripts; default-src 'none'")
    assert "allow-same-origin" not in policy
    assert "form-action 'none'" in policy
    assert "connect-src" not in policy


def test_pages_are_not_framed_nor_kept(page):
    """No frame of another page, no copy in a cache, no script or style but ours."""
    headers = page.get().headers
    assert headers["x-frame-options"] == "DENY"
    assert "frame-ancestors 'none'" in headers["content-security-policy"]
    assert "unsafe" not in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    text = page.get().text
    assert "<style" not in text
    assert " style=" not in text
    assert (
        " on" not in text.split("<main")[1].replace(" on ", "").split("onerror")[0] or "onclick" not in text
    )
    assert "access-control-allow-origin" not in headers


def test_a_reading_link_writes_nothing_nor_learns_the_other(app, tick):
    reader = window(app, KEYS.read)
    assert KEYS.write not in reader.get().text
    secret(send(reader, tick, own()), {403})


def test_a_websocket_is_not_answered(app):
    sent = []

    async def call():
        await app({"type": "websocket", "path": "/", "headers": []}, None, sent.append)

    asyncio.run(call())
    assert sent == []


def test_a_slow_form_is_not_waited_for(page, monkeypatch):
    """A form that stops half way ends with 408 and nothing noted."""
    monkeypatch.setattr(security, "FORM_S", 0.05)

    async def slow():
        await asyncio.sleep(5)

    app = page.app
    scope = {
        "type": "http", "method": "POST", "path": "/tick", "query_string": b"",
        "headers": [(name.encode(), value.encode()) for name, value in page.headers(*own())],
    }  # fmt: skip
    sent = []

    async def send(message):
        sent.append(message)

    began = time.monotonic()
    asyncio.run(app(scope, slow, send))
    assert sent[0]["status"] == 408
    assert time.monotonic() - began < 3


@pytest.fixture
def running(shelf, monkeypatch):
    """Return the port of a real server with little patience, ended after the test."""
    monkeypatch.setattr(server, "HEAD_S", 0.3)
    monkeypatch.setattr(security, "FORM_S", 0.3)
    listener = server.listening(0)
    port = listener.getsockname()[1]
    app = serve_on(shelf, port)
    config = {}

    async def run():
        import uvicorn

        one = uvicorn.Server(server.config_of(app))
        config["server"] = one
        await one.serve([listener])

    thread = threading.Thread(target=lambda: asyncio.run(run()), daemon=True)
    thread.start()
    yield port
    config["server"].should_exit = True
    thread.join(10)


def serve_on(shelf, port):
    from cropcal.serve.app import application

    return application(shelf, Doors.at(["127.0.0.1"], port, KEYS))


def ask(port, data, wait_s=3.0):
    """Return what a real server answers to some bytes until it hangs up."""
    with socket.create_connection(("127.0.0.1", port), timeout=wait_s) as line:
        line.sendall(data)
        heard = b""
        while True:
            try:
                more = line.recv(65536)
            except (ConnectionResetError, TimeoutError) as error:
                return heard, type(error)
            if not more:
                return heard, None
            heard += more


def test_a_real_server_hangs_up_on_the_slow_and_the_broken(running):
    """Half a head, a head without its form, a head too long, two lengths, line ends in a header."""
    for half in (b"", b"GET / HT", f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{running}\r\n".encode()):
        heard, error = ask(running, half)
        assert heard == b""
        assert error is not TimeoutError
    own_head = (
        f"POST /tick HTTP/1.1\r\nHost: 127.0.0.1:{running}\r\nCookie: cropcal-{running}={KEYS.write}\r\n"
        f"Origin: http://127.0.0.1:{running}\r\nContent-Type: {FORM}\r\n"
    )
    heard, error = ask(running, f"{own_head}Content-Length: 900\r\n\r\ntoken=".encode())
    assert heard.startswith(b"HTTP/1.1 408")
    assert error is not TimeoutError
    for broken in ("Content-Length: 5\r\nContent-Length: 6\r\n\r\na=bcd", f"X: {'a' * 70_000}\r\n\r\n",
                   "Content-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n", "X\r\nY: a\r\n\r\n",
                   "X: a\rb\r\nContent-Length: 0\r\n\r\n"):  # fmt: skip
        heard, _ = ask(running, (own_head + broken).encode(), 1.0)
        assert heard[:12] in (b"HTTP/1.1 400", b"HTTP/1.1 408", b"HTTP/1.1 431", b"HTTP/1.1 413", b""), broken


def test_only_this_computer_is_listened_to():
    """The socket is that of the loopback address alone."""
    listener = server.listening(0)
    assert listener.getsockname()[0] == "127.0.0.1"
    listener.close()

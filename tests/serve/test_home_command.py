"""``cropcal open --home`` as it is typed: what it prints, on which addresses it listens, what it refuses."""

import re
import socket
from urllib.parse import urlsplit

import pytest
from in_process import cropcal
from served import write_space

from cropcal.cli import open as command
from cropcal.serve import server
from cropcal.serve.home import links as at_home
from cropcal.serve.home.keys import FILE
from cropcal.serve.security import Guard

PHONE = "127.0.0.2"
"""A second address of every Linux computer, in place of one in a home network."""


@pytest.fixture
def shelf(tmp_path):
    return write_space(tmp_path / "my shelf")


@pytest.fixture
def network(monkeypatch):
    """Give this computer an address in a home network, and let nothing be served; return what would be."""
    try:
        server.listening(0, PHONE).close()
    except OSError:
        pytest.skip("this system has no second loopback address")
    seen = {"address": PHONE}

    def run(app, sockets, ready):
        seen["at"] = [listener.getsockname() for listener in sockets]
        seen["app"] = app
        ready()
        for listener in sockets:
            listener.close()

    monkeypatch.setattr(server, "run", run)
    monkeypatch.setattr(at_home, "home_address", lambda: seen["address"])
    monkeypatch.setattr(command, "_warm_up", lambda path: None)
    monkeypatch.setattr(command, "_open_in_browser", lambda link: None)
    return seen


def opened(shelf, *more):
    done = cropcal("open", str(shelf), "--no-browser", *more)
    assert done.returncode == 0, done.stderr
    return done.stdout


def links(text):
    return re.findall(r"http://\S+[\w]", text)


def matrix_of(text):
    """Return the QR code of block characters as rows of dark (1) and light (0) modules."""
    drawn = [line for line in text.split("\n") if line and set(line) <= set("\u2580\u2584\u2588 ")]
    light = {"\u2588": (0, 0), "\u2580": (0, 1), "\u2584": (1, 0), " ": (1, 1)}
    return [[light[sign][half] for sign in line] for line in drawn for half in (0, 1)]


def test_what_home_prints(shelf, network):
    """The loopback link first; then the phone's address, the code, both links, what is exposed."""
    text = opened(shelf, "--home")
    lines = text.split("\n")
    port = network["at"][0][1]
    assert network["at"] == [("127.0.0.1", port), (PHONE, port)]
    assert lines[0].startswith(f"http://127.0.0.1:{port}/?key=")
    assert re.search(rf"and then the code \d{{3}} \d{{3}}:\n  http://{PHONE}:{port}\n", text)
    base, reading, calendar = links(text)[1:]
    assert base == f"http://{PHONE}:{port}"
    assert reading.startswith(f"{base}/?key=")
    assert calendar.startswith(f"{base}/calendar.ics?key=")
    assert len({urlsplit(link).query for link in (lines[0], reading, calendar)}) == 3
    assert "everyone in the same network who has a link or the code" in " ".join(text.split())
    assert max(len(line) for line in lines[3:] if "http" not in line) <= 80
    assert isinstance(network["app"], Guard)
    assert network["app"].doors.hosts == {f"127.0.0.1:{port}", f"{PHONE}:{port}"}


def test_the_code_that_is_drawn_is_a_qr_code_of_the_scanned_link(shelf, network, monkeypatch):
    """Compared module by module with what the library makes of that link, and a quiet zone of four around."""
    import segno

    drawn = {}
    lines_of = at_home.qr_lines
    monkeypatch.setattr(at_home, "qr_lines", lambda link: lines_of(drawn.setdefault("link", link)))
    matrix = matrix_of(opened(shelf, "--home"))
    assert re.fullmatch(rf"http://{PHONE}:\d+/phone\?once=[\w-]{{22}}", drawn["link"])
    wanted = segno.make_qr(drawn["link"], error="l")
    inside = [row[4:-4] for row in matrix[4 : 4 + wanted.symbol_size(border=0)[1]]]
    assert inside == [[int(module) for module in row] for row in wanted.matrix]
    assert not any(map(any, matrix[:4]))
    assert not any(map(any, matrix[4 + len(inside) :]))
    assert not any(any(row[:4] + row[-4:]) for row in matrix)
    assert len(matrix) >= len(inside) + 8
    assert len(matrix[0]) <= 60, "it has room in a terminal"


def test_both_colours_are_set_in_a_terminal():
    """A theme, light or dark, changes neither: both are of the fixed part of the palette."""
    for line in at_home.qr_lines("http://192.168.1.20:8123/phone?once=x").split("\n"):
        assert line.startswith("\033[38;5;231;48;5;16m")
        assert line.endswith("\033[0m")


def test_a_terminal_without_blocks_gets_the_code_alone(shelf, network, monkeypatch):
    monkeypatch.setattr(at_home, "can_draw", lambda: False)
    text = opened(shelf, "--home")
    assert "scan" not in text
    assert matrix_of(text) == []
    assert "and then the code" in text


def test_links_and_port_stay_the_same(shelf, network):
    """From one start to the next, so that subscriptions and bookmarks go on; the key that writes is new."""
    first, then = (links(opened(shelf, "--home")) for _ in range(2))
    assert first[1:] == then[1:]
    assert first[0] != then[0]
    fresh = links(opened(shelf, "--home", "--new-keys"))
    assert fresh[1] == first[1], "address and port stay"
    assert not set(fresh[2:]) & set(first[2:])


def test_a_taken_port_is_used_again_once_it_is_free(shelf, network):
    """The links of another port hold for that time alone, which is said."""
    before = links(opened(shelf, "--home"))[1]
    with socket.create_server(("127.0.0.1", urlsplit(before).port)):
        text = opened(shelf, "--home")
    assert links(text)[1] != before
    assert f"Port {urlsplit(before).port} of last time is not used now" in text
    assert links(opened(shelf, "--home"))[1] == before


def test_another_address_than_last_time_is_said(shelf, network):
    opened(shelf, "--home")
    file = shelf / "plan" / FILE
    file.write_text(file.read_text().replace(PHONE, "192.168.9.9"))
    assert "had the address 192.168.9.9 last time" in " ".join(opened(shelf, "--home").split())
    assert "last time" not in opened(shelf, "--home")


@pytest.mark.parametrize(
    ("address", "said"), [(None, "no address in a home network"), ("8.8.8.8", "of the internet")]
)
def test_without_a_home_network_only_this_computer_is_served(shelf, network, address, said):
    """It is said plainly, and nothing listens elsewhere."""
    network["address"] = address
    text = opened(shelf, "--home")
    assert text.startswith("http://127.0.0.1:")
    assert said in " ".join(text.split())
    assert [host for host, _ in network["at"]] == ["127.0.0.1"]
    assert not network["app"].doors.entrance
    assert len(network["app"].doors.hosts) == 1
    assert not (shelf / "plan" / FILE).exists()


def test_without_home_nothing_of_it_is_there(shelf, network):
    text = opened(shelf)
    assert [host for host, _ in network["at"]] == ["127.0.0.1"]
    assert len(links(text)) == 1
    assert PHONE not in text
    assert not network["app"].doors.entrance
    assert not (shelf / "plan" / FILE).exists()


NO_ADDRESSES = [
    *((address, "home network") for address in ("0.0.0.0", "127.0.0.1", "::", "evil.example", "224.0.0.1")),
    ("8.8.8.8", "an address of the internet"),
    ("203.0.113.77", "not this computer"),
]


@pytest.mark.parametrize(("address", "said"), NO_ADDRESSES)
def test_an_address_that_is_not_of_a_home_network_is_refused(shelf, network, address, said):
    done = cropcal("open", str(shelf), "--no-browser", "--home", "--address", address)
    assert done.returncode == 2
    assert done.stdout == ""
    assert "--address" in done.stderr
    assert said in " ".join(done.stderr.split())
    assert "at" not in network
    assert not (shelf / "plan" / FILE).exists()


def test_options_that_need_home_say_so(shelf, network):
    for more in (["--new-keys"], ["--address", "192.168.1.20"]):
        done = cropcal("open", str(shelf), "--no-browser", *more)
        assert done.returncode == 2
        assert "--home" in done.stderr


def test_a_taken_port_that_is_asked_for_is_refused(shelf, network):
    """On either address; nothing is written then, and keys that were to be new are the old ones."""
    for new in ([], ["--new-keys"]):
        before = (shelf / "plan" / FILE).read_bytes() if new else None
        for taken_at in ("127.0.0.1", PHONE):
            with socket.create_server((taken_at, 0)) as taken:
                port = str(taken.getsockname()[1])
                done = cropcal("open", str(shelf), "--home", "--port", port, *new)
            assert done.returncode == 2
            assert "--port" in done.stderr
        if new:
            assert (shelf / "plan" / FILE).read_bytes() == before
        else:
            assert not (shelf / "plan" / FILE).exists()
            opened(shelf, "--home")


def test_the_address_is_found_without_a_packet(monkeypatch):
    """A datagram socket is only asked where it would send from; no network and odd answers give none."""
    asked = []

    class Asked:
        answer = ("192.168.1.20", 4711)

        def __init__(self, family, kind):
            assert kind == socket.SOCK_DGRAM

        def __enter__(self):
            return self

        def __exit__(self, *error):
            return None

        def connect(self, to):
            asked.append(to)
            if self.answer is None:
                raise OSError

        def getsockname(self):
            return self.answer

    monkeypatch.setattr(at_home.socket, "socket", Asked)
    assert at_home.home_address() == "192.168.1.20"
    assert asked == [("192.0.2.1", 9)]
    for answer in (("127.0.0.1", 1), ("0.0.0.0", 1), None):
        Asked.answer = answer
        assert at_home.home_address() is None

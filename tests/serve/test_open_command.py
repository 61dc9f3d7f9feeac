"""``cropcal open`` as it is started: its first line, how it ends, what it refuses."""

import http.client
import signal
import socket
import subprocess
import sys
from urllib.parse import urlsplit

import pytest
from in_process import cropcal
from on_a_day import CROPCAL
from served import write_space

from cropcal.cli import open as command
from cropcal.serve import server


@pytest.fixture
def shelf(tmp_path):
    return write_space(tmp_path / "my shelf")


def ask(link, target, headers=()):
    """Return status, headers and text of what the server at a link answers."""
    line = http.client.HTTPConnection(urlsplit(link).netloc, timeout=30)
    line.request("GET", target, headers=dict(headers))
    answer = line.getresponse()
    found = answer.status, dict(answer.getheaders()), answer.read().decode()
    line.close()
    return found


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C is another signal there")
def test_the_contract_of_the_command(shelf):
    """The link is the first line; the page with its key, 401 without, 421 by another host; exit 0."""
    process = subprocess.Popen(
        [*CROPCAL, "open", str(shelf), "--no-browser"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    with process:
        link = process.stdout.readline().strip()
        parts = urlsplit(link)
        assert (parts.scheme, parts.hostname, parts.path) == ("http", "127.0.0.1", "/")
        assert parts.query.startswith("key=")
        assert ask(link, "/")[0] == 401
        assert ask(link, f"/?{parts.query}", {"Host": "evil.example"})[0] == 421
        status, headers, _ = ask(link, f"/?{parts.query}")
        assert (status, headers["location"]) == (303, "/")
        cookie = {"Cookie": headers["set-cookie"].split(";")[0]}
        status, _, text = ask(link, "/", cookie)
        assert status == 200
        assert "Boot room" in text
        assert "Ctrl-C ends it" in process.stdout.readline() + process.stdout.readline()
        process.send_signal(signal.SIGINT)
        assert process.communicate(timeout=30)[1] == ""
        assert process.returncode == 0


@pytest.fixture
def not_served(monkeypatch):
    """Let nothing be served in this process; return what would be."""
    seen = {}

    def run(app, sockets, ready):
        seen["port"] = sockets[0].getsockname()[1]
        ready()
        for listener in sockets:
            listener.close()

    monkeypatch.setattr(server, "run", run)
    monkeypatch.setattr(command, "_warm_up", lambda path: None)
    monkeypatch.setattr(command, "_open_in_browser", lambda link: seen.update(link=link))
    return seen


def test_the_port_that_is_asked_for(shelf, not_served):
    """It is in the link; the browser gets the same link, unless it is not wanted."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    done = cropcal("open", str(shelf), "--port", str(port))
    assert done.returncode == 0
    assert done.stdout.startswith(f"http://127.0.0.1:{port}/?key=")
    assert not_served["link"] == done.stdout.split("\n")[0]
    del not_served["link"]
    assert cropcal("open", "--no-browser", cwd=shelf).returncode == 0
    assert "link" not in not_served


def test_a_port_that_is_taken_is_refused(shelf, not_served):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        done = cropcal("open", str(shelf), "--port", str(port))
    assert done.returncode == 2
    assert done.stdout == ""
    assert f"--port: found {port}" in done.stderr.replace("\n", " ")
    assert cropcal("open", str(shelf), "--port", "70000").returncode == 2


def test_a_space_with_mistakes_is_refused_like_by_other_commands(shelf, not_served, tmp_path):
    """The same words and exit code as ``week``; nothing is served."""
    whole = (shelf / "space.toml").read_text()
    (shelf / "space.toml").write_text(whole.replace("watts = 100", "watts = 'x'"))
    done, like = (cropcal(word, str(shelf)) for word in ("open", "week"))
    assert done.returncode == like.returncode == 2
    assert done.stderr == like.stderr
    assert done.stdout == ""
    missing = cropcal("open", str(tmp_path / "nowhere"))
    assert missing.returncode == 2
    assert missing.stderr == cropcal("week", str(tmp_path / "nowhere")).stderr
    assert not_served == {}

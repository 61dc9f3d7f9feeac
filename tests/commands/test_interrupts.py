"""Ctrl-C ends every command within moments, with one line, whatever it is at; and files that are no files."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from depth import few_of
from on_a_day import CROPCAL

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "millbrook"
HERE = str(Path(sys.executable).with_name("cropcal"))
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals and pseudo-terminals are POSIX")


def started(*command):
    """Return a process whose stderr is a terminal, and the other end of that terminal."""
    leader, follower = os.openpty()
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=follower)
    os.close(follower)
    return process, leader


def rest_of(leader):
    """Return all that is still written to a terminal."""
    told = b""
    while True:
        try:
            part = os.read(leader, 1 << 16)
        except OSError:  # the other end was closed
            part = b""
        if not part:
            os.close(leader)
            return told
        told += part


def interrupted_at_import(number, *words):
    """Interrupt a command once that many modules are loaded after its own first; return how it ended."""
    process, leader = started(sys.executable, "-X", "importtime", HERE, *words)
    told, seen = b"", 0
    while seen < number + 1 and process.poll() is None:
        told += os.read(leader, 4096)
        _, begun, after = told.partition(b"cropcal.cli.entry")
        seen = after.count(b"\n") if begun else 0
    process.send_signal(signal.SIGINT)
    printed, _ = process.communicate(timeout=60)
    told += rest_of(leader)
    return process.returncode, printed, told


def check_interrupt(number):
    code, printed, told = interrupted_at_import(number, "light", str(EXAMPLE))
    assert b"Traceback" not in told
    assert b"KeyboardInterrupt" not in told
    if not printed:  # else it was done sooner
        assert code == 130
        assert told.endswith(b"Stopped.\r\n")


@pytest.mark.parametrize("number", few_of([120, 3, 300], 1))
def test_ctrl_c_while_modules_are_loaded(number):
    """The command has but begun: one line, exit code 130, no traceback."""
    check_interrupt(number)


@pytest.mark.deep
@pytest.mark.parametrize("number", range(2, 420, 10))
def test_ctrl_c_at_any_module(number):
    """The same at forty moments and two."""
    check_interrupt(number)


def check_why(delay_s):
    process, leader = started(*CROPCAL, "why", str(EXAMPLE))
    time.sleep(delay_s)
    if delay_s > 6 and process.poll() == 0:  # a fast machine was done sooner
        return
    process.send_signal(signal.SIGINT)
    sent = time.monotonic()
    process.communicate(timeout=60)
    told = rest_of(leader)
    assert process.returncode == 130
    assert told.endswith(b"Stopped.\r\n")
    assert b"Traceback" not in told
    assert time.monotonic() - sent < 20  # it searches for a minute and more; this machine may be busy


def test_why_hears_ctrl_c():
    """In the middle of its first search, whose time limit is 60 s."""
    check_why(2)


@pytest.mark.deep
@pytest.mark.parametrize("delay_s", [1, 4, 6, 9, 12])
def test_why_hears_ctrl_c_at_any_time(delay_s):
    """In each of the solves that it goes through."""
    check_why(delay_s)


def test_python_m_cropcal():
    """The package runs as a module too."""
    done = subprocess.run(
        [sys.executable, "-m", "cropcal", "--version"], capture_output=True, text=True, check=True
    )
    assert done.stdout.startswith("cropcal ")

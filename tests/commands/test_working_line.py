"""The line that says what long work is doing: on a terminal only, never silent, wiped at the end."""

import os
import re
import sys
import time

import pytest

from cropcal.cli import working as line


class Screen:
    """A terminal that keeps what is written to it."""

    encoding, errors = "utf-8", "strict"

    def __init__(self, terminal=True):
        self.text, self.terminal = "", terminal

    def write(self, text):
        self.text += text
        return len(text)

    def flush(self):
        """Do nothing."""

    def isatty(self):
        return self.terminal


@pytest.fixture
def quick(monkeypatch):
    monkeypatch.setattr(line, "SLOW_S", 0.0)
    monkeypatch.setattr(line, "EVERY_S", 0.01)


def test_it_tells_the_stage_and_is_wiped(quick, monkeypatch):
    """The words change with the stage, also within another; at the end the line is empty."""
    screen = Screen()
    monkeypatch.setattr(sys, "stderr", screen)
    with line.working("getting ready"):
        time.sleep(0.2)
        with line.working("planning"):
            line.say("improving, 5 changes tried")
            time.sleep(0.2)
        with line.hidden():
            before = len(screen.text)
            time.sleep(0.2)
            assert len(screen.text) <= before + 90  # at most one that was under way
    stages = re.findall(r"\d+ s: ([a-z]+)", screen.text)
    assert list(dict.fromkeys(stages)) == ["getting", "improving"]
    assert screen.text.endswith(f"\r{'':79}\r")


def test_a_file_gets_no_line(quick, monkeypatch):
    """What is redirected holds answers and notes only."""
    screen = Screen(terminal=False)
    monkeypatch.setattr(sys, "stderr", screen)
    with line.working("planning"):
        line.say("improving")
        time.sleep(0.1)
    assert screen.text == ""


def test_quick_work_shows_nothing(monkeypatch):
    """Below a second no line flickers."""
    screen = Screen()
    monkeypatch.setattr(sys, "stderr", screen)
    with line.working("planning"):
        pass
    assert screen.text.replace(os.linesep, "").strip() == ""

"""A search as seen on a terminal: progress on one line, and Ctrl-C that keeps the best plan so far."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from on_a_day import CROPCAL

SPACE = Path(__file__).resolve().parents[1] / "spaces" / "plans" / "eight-sites-nursery.toml"


@pytest.mark.deep
@pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals are POSIX")
def test_ctrl_c_keeps_the_best_plan_so_far(tmp_path):
    """Progress is wiped before the plan is printed, which says that the search was stopped."""
    leader, follower = os.openpty()
    command = [*CROPCAL, "plan", str(SPACE), "--out", str(tmp_path)]
    search = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=follower, text=True, encoding="utf-8")
    os.close(follower)
    told = ""
    while "changes tried" not in told:
        told += os.read(leader, 1024).decode()
    search.send_signal(signal.SIGINT)
    printed, _ = search.communicate()
    told += os.read(leader, 100_000).decode()
    os.close(leader)
    assert search.returncode in (0, 1)
    assert "stopped the search: this is the best so far" in " ".join(printed.split())
    assert (tmp_path / "plan.json").exists()
    assert told.split("\r")[-1] == ""
    assert set(told.split("\r")[-2]) == {" "}
    assert max(map(len, told.split("\r"))) < 80

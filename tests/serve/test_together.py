"""Two windows and a terminal at once, and a server killed at any moment: nothing lost, nothing doubled."""

import http.client
import json
import random
import re
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from contextlib import closing, suppress
from urllib.parse import urlencode, urlsplit

import pytest
from on_a_day import CROPCAL, DAY
from served import FORM, batch, day, job, serve, window, write_space

from cropcal.reading.journal.read import read_journal

EVENTS = 500
TERMINAL = """
import sys
from datetime import date
from pathlib import Path
from typer.testing import CliRunner
from cropcal.season import clock
clock.today = lambda: date.fromisoformat(sys.argv[2])
from cropcal.cli.main import app
for name in sys.argv[3].split():
    done = CliRunner().invoke(app, ["log", sys.argv[1], "sown", name], catch_exceptions=False)
    assert done.exit_code == 0, done.output
"""


def many_jobs(folder, count):
    """Write a space whose plan has many sowings today, and return their names."""
    names = [f"12{number:03d}a" for number in range(count)]
    jobs = [job("sow", name, "basil", 0, 1.0, "sites") for name in names]
    write_space(folder, more_jobs=jobs)
    plan = folder / "plan" / "plan.json"
    form = json.loads(plan.read_text())
    form["batches"] += [batch(name, "basil", 0, 55, sites=1, unit="g", amount=90.0) for name in names]
    plan.write_text(json.dumps(form))
    return names


def sown(folder):
    journal, problems = read_journal(folder / "journal.csv")
    assert problems == []
    return [event.batch for event in journal.events if event.event == "sown"]


def together(folder, mine, theirs, typed=(), twice=1):
    """Let two windows tick jobs, every so many of the forms sent twice, while a terminal notes others."""
    app = serve(folder)
    windows = [window(app), window(app)]
    failed = []

    def tick(page, tokens, order):
        for number, name in enumerate(order):
            key = f"sow.{name}.{day(0)}"
            for _ in range(1 if number % twice else 2):
                answer = page.post("/tick", {"job": key, "token": tokens[key]}, follow=False)
                if answer.status != 303:
                    failed.append((name, answer.status, answer.text))

    tokens = [{form["job"]: form["token"] for form in page.get().forms("/tick")} for page in windows]
    work = zip(windows, tokens, (mine, theirs), strict=True)
    threads = [threading.Thread(target=tick, args=given) for given in work]
    for thread in threads:
        thread.start()
    if typed:
        words = [str(folder), DAY.isoformat(), " ".join(typed)]
        subprocess.run([sys.executable, "-c", TERMINAL, *words], check=True)
    for thread in threads:
        thread.join()
    assert failed == []


@pytest.mark.deep
def test_two_windows_and_a_terminal(tmp_path):
    """500 events: the windows share 100 of their 300 jobs, and the terminal notes 200 others meanwhile."""
    names = many_jobs(tmp_path / "shelf", EVENTS)
    theirs = random.Random(5).sample(names[100:300], 200)
    together(tmp_path / "shelf", names[:200], theirs, names[300:], twice=5)
    counted = Counter(sown(tmp_path / "shelf"))
    assert set(counted) == set(names), "nothing is lost"
    assert max(counted.values()) == 1, "nothing is doubled"


def test_two_windows_at_once(tmp_path):
    """A few of the same in the quick tier, without the terminal."""
    names = many_jobs(tmp_path / "shelf", 3)
    together(tmp_path / "shelf", names, names)
    assert sorted(sown(tmp_path / "shelf")) == names


@pytest.mark.deep
def test_a_server_killed_at_any_moment_loses_nothing(tmp_path):
    """What was answered is in the journal, nothing is there twice, and the journal can be read."""
    folder = tmp_path / "shelf"
    names = many_jobs(folder, 120)
    draw = random.Random(3)
    answered = []
    for _ in range(6):
        left = [name for name in names if name not in answered]
        process = subprocess.Popen(
            [*CROPCAL, "open", str(folder), "--no-browser"], stdout=subprocess.PIPE, text=True
        )
        with process:
            link = process.stdout.readline().strip()
            threading.Timer(draw.uniform(1.5, 6.0), process.send_signal, [signal.SIGKILL]).start()
            with suppress(OSError, http.client.HTTPException):
                tick_until_killed(link, left, answered)
            process.wait(30)
        noted = Counter(sown(folder))
        assert set(answered) <= set(noted)
        assert max(noted.values(), default=1) == 1
        answered = list(noted)
    assert len(answered) > 5


def tick_until_killed(link, names, answered):
    """Tick one job after the other, as a person would but faster, until no answer comes."""
    parts = urlsplit(link)
    with closing(http.client.HTTPConnection(parts.netloc, timeout=30)) as line:
        line.request("GET", f"/?{parts.query}")
        answer = line.getresponse()
        answer.read()
        cookie = answer.getheader("set-cookie").split(";")[0]
        line.request("GET", "/", headers={"Cookie": cookie})
        tokens = re.findall(r'name="token" value="([^"]+)"', line.getresponse().read().decode())
        headers = {"Cookie": cookie, "Origin": f"http://{parts.netloc}", "Content-Type": FORM}
        for name, token in zip(names, tokens, strict=False):
            body = urlencode({"job": f"sow.{name}.{day(0)}", "token": token})
            line.request("POST", "/tick", body, headers)
            answer = line.getresponse()
            answer.read()
            assert answer.status == 303
            answered.append(name)
            time.sleep(0.01)

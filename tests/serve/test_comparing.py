"""What is tried beside what is: in the background, in plain words, and dropped with what was tried."""

import io
import threading
import time

import pytest
from filled_in import form_at
from on_a_day import DAY
from served import EndsWhenItMay, serve, window, write_space

from cropcal.serve.comparing import FAILED, Comparer
from cropcal.serve.tried_beside import SAID, Compared, compare

COMPARED = Compared(differ=(("<b>EUR</b> a month", "45", "51"),), alike=(("Basil", "ok", "ok"),))
WELL = COMPARED.model_dump_json()


class Process(EndsWhenItMay):
    """What stands for the process that compares: it has done so when it may end."""

    def __init__(self, beside, said, code):
        self.may_end, self.is_killed, self.stdin = threading.Event(), False, io.StringIO()
        self.beside, self.code = beside, code
        (beside / SAID).write_text(said, encoding="utf-8")


class Tried:
    """A window in which a lamp is tried."""

    def __init__(self, folder, said=WELL, code=0):
        self.folder, self.started, self.said, self.code = write_space(folder), [], said, code
        self.page = window(serve(folder, comparer=Comparer(folder, self._start)))

    def _start(self, _space, beside, _today):
        self.started.append(Process(beside, self.said, self.code))
        return self.started[-1]

    def watts(self, watts):
        form, _ = form_at(self.page.get("/space").text, "fixture.1")
        return self.page.post("/space/change", {**form, "f.watts": watts, "do": "try"}).text

    def done(self):
        self.started[-1].may_end.set()
        for _ in range(200):
            html = self.page.get("/space").text
            if "Both are being planned" not in html:
                return html
            time.sleep(0.02)
        raise AssertionError(html)


def test_it_is_shown_side_by_side(tmp_path):
    """Marked as an estimate; each change begins a new one, of the text that is tried."""
    tried = Tried(tmp_path / "shelf")
    assert "Both are being planned" in tried.watts("130")
    assert "watts = 130" in (tried.started[0].beside / "space.toml").read_text()
    tried.watts("140")
    assert tried.started[0].is_killed
    assert "watts = 140" in (tried.started[1].beside / "space.toml").read_text()
    html = tried.done()
    assert "&lt;b&gt;EUR&lt;/b&gt; a month</th><td>45</td><td><b>51</b>" in html
    assert "A quick estimate" in html
    assert not any(process.beside.exists() for process in tried.started)
    form = tried.page.get("/space").form("/space/drop")
    assert "A quick estimate" not in tried.page.post("/space/drop", form).text


def test_why_there_is_none_is_said(tmp_path):
    tried = Tried(tmp_path / "one", said='["space.toml: <b>odd</b>"]', code=2)
    tried.watts("130")
    assert "space.toml: &lt;b&gt;odd&lt;/b&gt;" in tried.done()
    tried = Tried(tmp_path / "two", said="", code=1)
    tried.watts("130")
    assert FAILED in tried.done()


@pytest.mark.deep
def test_a_weaker_lamp_for_fewer_hours_harvests_less(tmp_path):
    """The same figures as a plan's: less light, less power, worse verdicts; a reading goes with its lamp."""
    folder = write_space(tmp_path / "shelf")
    file = folder / "space.toml"
    reading = '[[reading]]\nbed = "long box"\numol_m2_s = [[200]]\n'
    file.write_text(file.read_text().replace("[[want]]", f"{reading}\n[[want]]", 1))
    (tmp_path / "tried").mkdir()
    weaker = (
        file.read_text()
        .replace("watts = 100", "watts = 50")
        .replace("photoperiod_h = 16", "photoperiod_h = 13")
    )
    (tmp_path / "tried" / "space.toml").write_text(weaker)
    found = compare(file, tmp_path / "tried", DAY)
    rows = {what: (before, now) for what, before, now in found.differ}
    power = next(what for what in rows if what.endswith("a month"))
    assert float(rows["g cut a week, about"][0]) > float(rows["g cut a week, about"][1])
    assert float(rows[power][0]) > 1.5 * float(rows[power][1])
    assert rows["Basil in its best bed"] == ("grows well", "grows slowly")
    file.write_text(weaker)
    assert compare(file, tmp_path / "tried", DAY).differ == ()

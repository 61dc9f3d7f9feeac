"""The example's week that can only be met by what was kept, argued from the forecast alone."""

import json
import subprocess
from datetime import date, timedelta
from pathlib import Path

import pytest
from depth import few_of
from on_a_day import CROPCAL

from cropcal.planning.growth.crop_growth import WEEKLY_D

PROJECT = Path(__file__).resolve().parents[2]
EXAMPLE = PROJECT / "examples" / "millbrook"
START = date(2027, 1, 11)
WEEKS = 25
BREAK = (date(2027, 3, 26), date(2027, 4, 7))
SHORT_WEEK = (date(2027, 4, 12), date(2027, 4, 18))


def cropcal(*words: str) -> subprocess.CompletedProcess[str]:
    command = [*CROPCAL, *words]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def work_days() -> list[date]:
    """Return Mondays and Thursdays from January to July, without the break."""
    days = (START + timedelta(days=number) for number in range(7 * WEEKS))
    return [day for day in days if day.weekday() in (0, 3) and not BREAK[0] <= day <= BREAK[1]]


@pytest.mark.deep
def test_the_week_after_the_holidays_is_short(tmp_path):
    """A week after the holidays no shoots and no microgreens can be cut, and none are kept for so long."""
    done = cropcal("plan", str(EXAMPLE), "--out", str(tmp_path), "--json")
    assert done.returncode in (0, 1)
    plan = json.loads(done.stdout)
    (row,) = (
        row
        for row in plan["supply"]
        if row["week"] == SHORT_WEEK[0].isoformat() and "microgreens-brassica" in row["want"]
    )
    assert row["wanted"] == 120
    assert row["ready"] == row["from_before"] == 0
    assert plan["outcome"]["bound_want_weeks"] == pytest.approx(1.0, abs=0.1)


@pytest.mark.parametrize("crop", few_of(["pea-shoots", "microgreens-brassica"], 1))
def test_nothing_sown_around_the_break_can_be_cut_in_that_week(crop, tables):
    """No work day's sowing has a day of that week on which somebody cuts within its harvest window.

    So what is eaten then must have been kept, whatever the sites.
    """
    window_d = tables.crops[crop].window_d
    early_d = 0 if tables.crops[crop].kind == "shoots" else max(WEEKLY_D - window_d, 0)
    cutting = [day for day in work_days() if SHORT_WEEK[0] <= day <= SHORT_WEEK[1]]
    assert len(cutting) == 2
    answer = json.loads(cropcal("when", str(EXAMPLE), crop, "--sown", "2027-03-01", "--json").stdout)
    takes_d = (date.fromisoformat(answer["harvest"]["middle"]) - date(2027, 3, 1)).days
    for sown in work_days():
        first = sown + timedelta(days=takes_d - early_d)
        last = sown + timedelta(days=takes_d + window_d)
        assert not any(first <= day <= last for day in cutting), sown

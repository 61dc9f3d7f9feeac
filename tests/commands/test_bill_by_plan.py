"""The bill of a space for which a plan stands: its dark days, its choices, its ranges on every screen."""

import json
from datetime import date

import pytest
from in_process import cropcal

SPACE = """
[place]
name = "Stair cupboard"
timezone = "Europe/Madrid"

[[zone]]
name = "rack"
length_m = 1.0
width_m = 0.5
air_c = 21
air_moving = true

[[zone]]
name = "nursery shelf"
length_m = 0.6
width_m = 0.3
air_c = 20

[[bed]]
name = "box"
zone = "rack"
sites = 6

[[bed]]
name = "plugs"
zone = "nursery shelf"
kind = "nursery"
sites = 8

[[fixture]]
zone = "rack"
watts = 90
watts_from = "meter"
ppf_umol_s = 240

[[fixture]]
zone = "nursery shelf"
watts = 20
watts_from = "meter"
ppf_umol_s = 50

[tariff]
currency = "EUR"
[[tariff.rate]]
per_kwh = 0.3

[plan]
start = 2027-01-04
weeks = 14
work_days = ["mon", "thu"]

[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
unit = "heads"
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Return the folder of a space with its plan: the rack is empty while the first seedlings grow."""
    path = tmp_path_factory.mktemp("cupboard")
    (path / "space.toml").write_text(SPACE, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("cropcal.season.clock.today", lambda: date(2026, 12, 20))
        done = cropcal("plan", path, "--time-limit", "10")
    assert done.returncode in (0, 1), done.stderr
    return path


def form(folder, *words):
    return json.loads(cropcal("bill", folder, *words, "--json").stdout)


def written(folder):
    return json.loads((folder / "plan" / "plan.json").read_text(encoding="utf-8"))


def test_the_bill_is_that_of_the_plan(folder, tmp_path):
    """Once a plan stands, its dark days are in the bill, and the saving is said."""
    bill = form(folder)
    assert bill["in_all"]["cost"] == pytest.approx(sum(line["cost"] for line in written(folder)["bill"]))
    assert bill["plan"]["dark_d"]["rack"] > 5
    (tmp_path / "space.toml").write_text(SPACE, encoding="utf-8")
    saved = form(tmp_path)["in_all"]["cost"] - bill["in_all"]["cost"]
    assert saved == pytest.approx(bill["plan"]["saved_cost"])
    assert saved > 1
    screen = " ".join(cropcal("bill", folder, "--all").stdout.split())
    assert (
        f"The lamp is off while nothing grows below it (rack {bill['plan']['dark_d']['rack']} days" in screen
    )


def test_a_tried_value_is_compared_with_the_bill_of_the_plan(folder):
    """Twice the watts take twice the power: the lamps are off on the same days."""
    tried = form(folder, "--set", "fixture.1.watts=180", "--set", "fixture.2.watts=40")
    assert tried["set"]["before"]["in_all"] == form(folder)["in_all"]
    assert tried["in_all"]["kwh"] == pytest.approx(2 * form(folder)["in_all"]["kwh"])


def test_a_plan_of_other_settings_does_not_count(folder, tmp_path):
    (tmp_path / "plan").mkdir()
    (tmp_path / "plan" / "plan.json").write_bytes((folder / "plan" / "plan.json").read_bytes())
    (tmp_path / "space.toml").write_text(SPACE.replace("watts = 90", "watts = 91"), encoding="utf-8")
    assert form(tmp_path)["plan"] is None


def test_each_choice_has_its_own_cost_with_a_range(folder):
    """In plan.json, in the bill and on its screen."""
    choices = form(folder)["plan"]["choices"]
    assert [choice["name"] for choice in choices] == ["sparing", "usual", "safe"]
    assert all(choice["power_low"] < choice["power"] < choice["power_high"] for choice in choices)
    chosen = next(choice for choice in choices if choice["chosen"])
    a_month = form(folder)["in_all"]["cost"] / (14 * 7) * 365.25 / 12
    assert chosen["power"] == pytest.approx(a_month, abs=0.01)
    screen = " ".join(cropcal("bill", folder, "--all").stdout.split())
    assert f"{chosen['power']:.2f} ({chosen['power_low']:.0f}-{chosen['power_high']:.0f})" in screen


def test_ranges_hold_the_middle_month_by_month_and_lamps_err_together(folder):
    """The range of the sum is as wide as the sum of the ranges: all by one label."""
    bill = form(folder)
    for row in [*bill["months"], bill["in_all"], bill["year"]]:
        low, high = row["cost_range_80"]
        assert low < row["cost"] < high
    assert bill["in_all"]["cost_range_80"][1] == pytest.approx(
        sum(month["cost_range_80"][1] for month in bill["months"])
    )


def test_plan_json_page_and_csv_have_the_range(folder):
    plan = written(folder)
    assert [row["month"] for row in plan["bill_range"]["months"]] == [
        row["month"] for row in form(folder)["months"]
    ]
    page = (folder / "plan" / "report.html").read_text(encoding="utf-8")
    low, high = plan["bill_range"]["in_all"]["cost_range_80"]
    assert f"<small>({low:.0f}-{high:.0f})</small>" in page


def test_lamps_left_on_over_empty_beds_are_the_cause(folder, tmp_path, monkeypatch):
    """The bill of lamps that are always on, noted where the plan has them off; the file stays as it is."""
    monkeypatch.setattr("cropcal.season.clock.today", lambda: date(2027, 2, 2))
    (tmp_path / "space.toml").write_text(SPACE, encoding="utf-8")
    always_on = form(tmp_path)["months"][0]["cost"]
    (tmp_path / "plan").mkdir()
    (tmp_path / "plan" / "plan.json").write_bytes((folder / "plan" / "plan.json").read_bytes())
    assert cropcal("log", tmp_path, "bill", "2027-01", f"{always_on:.2f}").returncode == 0
    bill = form(tmp_path)
    (noted,) = bill["noted"]
    assert noted["computed"]["cost"] == pytest.approx(bill["months"][0]["cost"])
    assert noted["causes"][0] == "the lamp stayed on over empty beds, where the plan has it off"
    assert (tmp_path / "space.toml").read_text(encoding="utf-8") == SPACE

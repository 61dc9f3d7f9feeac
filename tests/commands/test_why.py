"""``cropcal why``: what would help, by the plan that was written, in plain words and as JSON."""

import json
import shutil

import pytest
from in_process import cropcal

SPACE = """
[place]
name = "Attic stairs"

[[zone]]
name = "landing"
length_m = 1.0
width_m = 0.5
lit = [["06:00", "20:00"]]
quiet = [{{ hours = [["20:00", "23:30"]] }}]
air_c = 20
{air}

[[bed]]
name = "gutter"
zone = "landing"
sites = {sites}
length_m = 0.9
width_m = 0.3

[[bed]]
name = "plug tray"
zone = "landing"
kind = "nursery"
sites = 6
length_m = 0.2
width_m = 0.12

[[fixture]]
zone = "landing"
watts = 70

[[reading]]
bed = "gutter"
umol_m2_s = [[{umol}]]

[[reading]]
bed = "plug tray"
umol_m2_s = [[170]]

[tariff]
currency = "EUR"
[[tariff.rate]]
per_kwh = 0.3

[plan]
start = 2027-02-01
weeks = 16
work_days = ["sat"]

[[want]]
crops = ["lettuce-batavia"]
per_week = {per_week}
"""


def folder(path, *, sites=6, umol=190, per_week=1, air="air_moving = true"):
    path.mkdir(exist_ok=True)
    (path / "space.toml").write_text(SPACE.format(sites=sites, umol=umol, per_week=per_week, air=air))
    return path


@pytest.fixture(scope="module")
def tight(tmp_path_factory):
    """Return a space with too few sites, its plan written, and what ``why --json`` says of it."""
    space = folder(tmp_path_factory.mktemp("tight"), sites=5, umol=230)
    done = cropcal("plan", space, "--on", "2027-01-20", "--time-limit", 4, "--out", space / "plan")
    assert done.returncode in (0, 1), done.stderr  # 1: something is short
    done = cropcal("why", space, "--time-limit", 4, "--json")
    assert done.returncode == 0, done.stderr
    return space, json.loads(done.stdout)


def of_kind(form, kind):
    return [row for row in form["more"] if row["kind"] == kind]


def test_it_speaks_of_the_plan_that_was_written(tight):
    """The figures are those that ``plan`` wrote, to the digit: same sowings, same seasons."""
    space, form = tight
    written = json.loads((space / "plan" / "plan.json").read_text())
    (plan,) = [course for course in form["courses"] if course["name"] == "plan"]
    assert form["written"] is True
    assert plan["sowings"] == len(written["batches"])
    assert plan["expected"]["short_want_weeks"] == written["expected"]["short_want_weeks"]
    assert plan["expected"]["cells"] == written["expected"]["cells"]


def test_each_thing_is_tried_once_and_the_best_day_only(tight):
    """A site, cells, a day, watts and young plants; no hour, for both beside the lit ones are not free."""
    _, form = tight
    assert [row["subject"] for row in of_kind(form, "site")] == ["gutter"]
    assert [(row["before"], row["after"]) for row in of_kind(form, "cells")] == [(6, 9)]
    assert len(of_kind(form, "work day")) == 1
    assert of_kind(form, "work day")[0]["subject"] != "sat"
    (watts,) = of_kind(form, "watts")
    assert watts["umol_after"] / watts["umol_before"] == pytest.approx(100 / 70, rel=0.01)
    assert watts["kwh_a_month"] == pytest.approx(0.030 * 14 * 365.25 / 12, rel=0.01)
    assert watts["cost_a_month"] == pytest.approx(watts["kwh_a_month"] * 0.3, rel=0.02)
    (hour,) = of_kind(form, "lamp hour")  # from 05:00; after 20:00 it is to be quiet
    assert (hour["before"], hour["after"]) == (14, 15)
    assert of_kind(form, "young plants")[0]["young_plants"] > 0


def test_a_quicker_lettuce_is_offered_with_its_days(tight):
    """Batavia is slow: another lettuce is ready sooner in the same bed."""
    _, form = tight
    (quicker,) = of_kind(form, "quicker crop")
    assert quicker["crop"].startswith("lettuce-")
    assert quicker["after"] <= quicker["before"] - 1


def test_the_best_comes_first(tight):
    """What helps is above what does not, and each by its gain."""
    _, form = tight
    helps = [row["gain_want_weeks"] > max(2 * row["gain_se"], 0.05) for row in form["more"]]
    assert helps == sorted(helps, reverse=True)
    gains = [row["gain_want_weeks"] for row, its in zip(form["more"], helps, strict=True) if its]
    assert gains == sorted(gains, reverse=True)


def test_the_screen_fits_and_says_what_to_type_next(tight):
    """Eighty columns; the table, what brings hardly anything, and the slow way."""
    space, _ = tight
    done = cropcal("why", space, "--all", "--time-limit", 4)
    lines = done.stdout.splitlines()
    assert max(map(len, lines)) <= 80
    assert "What would help" in lines
    assert "This looks at the plan as it was first written" in done.stdout
    assert "with the same sowings" in " ".join(done.stdout.split())
    assert f"cropcal why {space} --anew" in " ".join(done.stdout.split())


def test_a_tried_value_is_not_of_the_written_plan(tight):
    """With --set, another plan is made."""
    space, _ = tight
    done = cropcal("why", space, "--time-limit", 2, "--json", "--set", "want.lettuce-batavia.per_week=0.5")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["written"] is False


def test_anew_makes_a_plan_of_each_change(tight, monkeypatch):
    """With --anew each changed space is planned, and the rows say so; here all get the first plan."""
    from cropcal.planning import what_if

    planned, made = [], what_if.plan

    def once(space, *rest, **more):
        planned.append(space)
        if len(planned) == 1:
            once.result = made(space, *rest, **more)
        return once.result

    monkeypatch.setattr(what_if, "plan", once)
    done = cropcal("why", folder(tight[0].parent / "anew"), "--anew", "--time-limit", 3, "--json")
    assert done.returncode == 0, done.stderr
    form = json.loads(done.stdout)
    assert [row["anew"] for row in form["more"]] == [True] * len(form["more"])
    assert len(planned) == 1 + len(form["more"])
    assert len({space.model_dump_json() for space in planned}) == len(planned)
    assert form["not_tried"] == 0


@pytest.mark.deep
def test_a_site_more_helps_once_it_is_planned_for(tmp_path):
    """Three sites for a lettuce a week: planned anew, a fourth is worth more than chance."""
    space = folder(tmp_path / "anew", sites=3)
    done = cropcal("why", space, "--anew", "--time-limit", 20, "--json")
    assert done.returncode == 0, done.stderr
    (site,) = of_kind(json.loads(done.stdout), "site")
    assert site["gain_want_weeks"] > 2 * site["gain_se"] > 0


@pytest.mark.deep
def test_no_gain_is_said_in_plain_words(tmp_path):
    """Sixteen sites for half a head a week: one more changes no season at all."""
    space = folder(tmp_path / "roomy", sites=16, per_week=0.5)
    done = cropcal("why", space, "--all", "--time-limit", 4)
    said = " ".join(done.stdout.split())
    assert done.returncode == 0, done.stderr
    assert "No help at all, with the same sowings:" in said
    assert "a site in gutter" in said.split("No help at all, with the same sowings:")[1]


def test_a_fan_is_named_where_still_air_burns_tips(tmp_path):
    """Bright still air: the seasons do not count burnt tips, so a fan is no row, but a sentence."""
    space = folder(tmp_path / "still", umol=300, air="")
    said = " ".join(cropcal("why", space, "--all", "--time-limit", 2).stdout.split())
    assert "A small fan over the leaves in landing would suit Batavia lettuce better" in said


def test_a_broken_plan_is_refused(tight, tmp_path):
    """As by every command that reads it: one clear message, exit code 2."""
    space = tmp_path / "broken"
    shutil.copytree(tight[0], space)
    (space / "plan" / "plan.json").write_text("{")
    done = cropcal("why", space, "--all")
    assert done.returncode == 2
    assert "plan.json" in done.stderr

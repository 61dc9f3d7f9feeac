"""plan.json is read in full or not at all, by every command alike; what was there before is never lost."""

import contextlib
import copy
import json
import os
import shutil
from datetime import date
from pathlib import Path

import pytest
from depth import examples
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from cropcal.cli.main import app
from cropcal.reading.files.file_set import BEING_WRITTEN, LOCK, TO_BE_PLACED
from cropcal.reading.plan_json import read_plan
from cropcal.records.written_plan import FORMAT

WRITTEN = Path(__file__).resolve().parents[1] / "folders" / "potting-loft"
FORM = json.loads((WRITTEN / "plan" / "plan.json").read_text(encoding="utf-8"))
TODAY = "2026-04-17"
PLAN = ("plan", "--on", TODAY, "--time-limit", "5", "--all")
ALL = [
    PLAN,
    ("week", "--on", TODAY),
    ("learned",),
    ("why", "--time-limit", "1"),
    ("bill", "--json"),
    ("photoperiod",),
    ("log", "sown", "0413a", "--on", TODAY),
    ("check",),
]


@pytest.fixture
def loft(tmp_path):
    return Path(shutil.copytree(WRITTEN, tmp_path / "loft"))


@pytest.fixture(autouse=True)
def _today(monkeypatch):
    monkeypatch.setattr("cropcal.season.clock.today", lambda: date.fromisoformat(TODAY))


def run(folder, command, *more):
    with contextlib.chdir(folder):
        done = CliRunner().invoke(app, [command[0], *more, *command[1:]])
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done


def changed(change):
    """Return plan.json as text after a change."""
    form = copy.deepcopy(FORM)
    change(form)
    return json.dumps(form, indent=2)


def read(text, folder):
    path = folder / "plan.json"
    path.write_text(text, encoding="utf-8")
    return read_plan(path)


def test_what_a_newer_or_older_version_adds_or_lacks(loft, tmp_path):
    """Unknown keys are left out, keys that came later may be missing: the same plan is read."""
    whole, problems = read_plan(loft / "plan" / "plan.json")
    assert problems == []
    assert (whole.format, len(whole.batches), len(whole.jobs)) == (1, len(FORM["batches"]), len(FORM["jobs"]))

    def newer(form):
        form["mood"] = "bright"
        for row in [*form["batches"], *form["jobs"], *form["sites"], *form["supply"]]:
            row["colour"] = {"of": ["leaves"]}
        form["batches"][0]["harvests"][0]["colour"] = "green"

    def older(form):
        for key in ("inputs_sha256", "space_sha256", "rhythm", "service", "again"):
            del form[key]
        for row in form["batches"]:
            del row["plug_age_d"]
        for row in form["supply"]:
            for key in ("from_before", "for_later", "on", "chance"):
                del row[key]

    assert read(changed(newer), tmp_path) == (whole, [])
    plan, problems = read(changed(older), tmp_path)
    assert problems == []
    assert (plan.batches, plan.jobs, plan.sites) == (whole.batches, whole.jobs, whole.sites)


@pytest.mark.deep
def test_one_unknown_key_forgets_no_batch(loft):
    """Planned again, standing crops are continued as if the key were not there."""
    text = changed(lambda form: form["batches"][2].update(colour="red"))
    (loft / "plan" / "plan.json").write_text(text, encoding="utf-8")
    assert "0316b Butterhead lettuce: 1 site lost (slugs)" in run(loft, PLAN).stdout
    form = json.loads((loft / "plan" / "plan.json").read_text(encoding="utf-8"))
    assert form["format"] == FORMAT
    begun = {row["batch"] for row in FORM["batches"] if row["sow_on"] < TODAY}
    assert begun <= {row["batch"] for row in form["batches"]}


DAMAGED = {
    "cut off": json.dumps(FORM, indent=2)[:9000],
    "empty": "",
    "no JSON": "sow 3 lettuces",
    "another JSON": "[1, 2]",
    "no number": '{"batches": NaN}',
    "brackets": "[" * 100_000,
    "no batches": changed(lambda form: form.pop("batches")),
    "no day": changed(lambda form: form["batches"][2].pop("sow_on")),
    "no such day": changed(lambda form: form["batches"][2].update(sow_on="2026-02-30")),
    "far day": changed(lambda form: form["batches"][2].update(clear_on="0001-01-01")),
    "text": changed(lambda form: form["batches"][2].update(sites="3")),
    "twice": changed(lambda form: form["batches"][2].update(batch="0302a")),
    "endless sites": changed(
        lambda form: [job.update(sites="1-999999") for job in form["jobs"] if job["job"] == "cut"]
    ),
}
SAID = {
    "cut off": ":411: found ",
    "no batches": ": batches: found no such key, expected a list in [ ]",
    "no day": ": batches[3].sow_on: found no such key, expected a date like",
    "no such day": ': batches[3].sow_on: found "2026-02-30", expected a date like',
    "text": ': batches[3].sites: found "3", expected a whole number',
    "twice": ': batches[3].batch: found "0302a", expected an id that no other batch has',
}


@pytest.mark.parametrize("name", DAMAGED)
def test_a_damaged_one_is_one_clear_problem(name, tmp_path):
    """Where it is, what was found, what was expected."""
    plan, problems = read(DAMAGED[name], tmp_path)
    assert plan is None
    assert len(problems) == 1
    assert str(problems[0]).startswith(str(tmp_path / "plan.json") + SAID.get(name, ":"))


@pytest.mark.parametrize("command", ALL, ids=[command[0] for command in ALL])
def test_every_command_stops_and_keeps_the_file(command, loft):
    """Exit code 2, nothing written, nothing noted; the ways out are named."""
    text = DAMAGED["text"]
    (loft / "plan" / "plan.json").write_text(text, encoding="utf-8")
    before = {path: path.read_bytes() for path in loft.rglob("*") if path.is_file()}
    done = run(loft, command)
    assert done.exit_code == 2
    assert "plan/plan.json: batches[3].sites: found " in done.stderr
    assert "; rm plan/plan.json lets you plan anew from the journal" in done.stderr
    assert ("nothing was noted" in done.stderr) == (command[0] == "log")
    assert "previous.json" not in done.stderr
    assert {path: path.read_bytes() for path in loft.rglob("*") if path.is_file()} == before


@pytest.mark.deep
def test_the_plan_before_is_the_way_out(loft):
    """Plan, damage the file, type what is said: the plan is back, with its ids."""
    first = (loft / "plan" / "plan.json").read_bytes()
    assert run(loft, PLAN).exit_code in (0, 1)
    assert (loft / "plan" / "previous.json").read_bytes() == first
    (loft / "plan" / "plan.json").write_text(DAMAGED["cut off"], encoding="utf-8")
    done = run(loft, PLAN)
    assert done.exit_code == 2
    assert "; cp plan/previous.json plan/plan.json brings back the plan before it" in done.stderr
    assert (loft / "plan" / "plan.json").read_text(encoding="utf-8") == DAMAGED["cut off"]
    shutil.copy(loft / "plan" / "previous.json", loft / "plan" / "plan.json")
    again = run(loft, ("week", "--on", TODAY))
    assert again.exit_code == 0
    assert "[ ] 0413a Butterhead lettuce" in again.stdout


def test_notes_that_need_no_plan_are_noted(loft):
    """Air and outages name no batch; what was noted can be taken back; the damage is reported each time."""
    (loft / "plan" / "plan.json").write_text("{", encoding="utf-8")
    lines = (loft / "journal.csv").read_text(encoding="utf-8").count("\n")
    for words in (("air", "gable bench", "24"), ("--undo",)):
        done = run(loft, ("log", *words))
        assert done.exit_code == 0, done.output
        assert "plan/plan.json:1: found the end of the file, too soon" in done.stderr
    assert (loft / "journal.csv").read_text(encoding="utf-8").count("\n") == lines + 2


def test_a_newer_one_is_read_as_far_as_it_can_be(loft):
    """It is said in one line, and its unknown jobs are left out; what is needed and missing is a problem."""

    def newer(form):
        form["format"] = FORMAT + 1
        form["jobs"][0]["job"] = "sing to"

    (loft / "plan" / "plan.json").write_text(changed(newer), encoding="utf-8")
    done = run(loft, ("week", "--on", TODAY))
    assert done.exit_code == 0
    assert done.stderr.count("a newer version wrote it (format 2, this one reads 1)") == 1
    assert "[ ] 0413a Butterhead lettuce" in done.stdout
    text = changed(lambda form: (newer(form), form["batches"][0].pop("crop")))
    (loft / "plan" / "plan.json").write_text(text, encoding="utf-8")
    done = run(loft, ("week", "--on", TODAY))
    assert done.exit_code == 2
    assert "a newer version wrote it: use that version" in done.stderr


@pytest.mark.deep
def test_out_goes_on_from_the_plan_of_the_space(loft, tmp_path):
    """Whatever lies in the other folder, ids and sites are those of the space's own plan, which stays."""
    own = (loft / "plan" / "plan.json").read_bytes()
    (tmp_path / "else").mkdir()
    (tmp_path / "else" / "plan.json").write_text("{", encoding="utf-8")
    done = run(loft, PLAN, "--out", str(tmp_path / "else"))
    assert done.exit_code in (0, 1)
    assert "0316b Butterhead lettuce: 1 site lost (slugs)" in done.stdout
    assert (loft / "plan" / "plan.json").read_bytes() == own
    ids = {row["batch"] for row in json.loads((tmp_path / "else" / "plan.json").read_text())["batches"]}
    assert {row["batch"] for row in FORM["batches"] if row["sow_on"] < TODAY} <= ids
    assert not (tmp_path / "else" / "previous.json").exists()


def test_without_a_plan_before_nothing_is_said_to_go_on(loft):
    """Where only the journal is left, there is nothing to compare with: screen and page say so."""
    (loft / "plan" / "plan.json").unlink()
    done = run(loft, PLAN)
    assert "No earlier plan is written here" in done.stdout
    assert "What changed since the last plan" not in done.stdout
    assert "everything stays as planned" not in done.stdout
    page = (loft / "plan" / "report.html").read_text(encoding="utf-8")
    assert "No earlier plan is written here" in page
    assert "everything stays as planned" not in page
    assert not (loft / "plan" / "previous.json").exists()


def test_a_plan_command_that_is_killed(loft, monkeypatch):
    """Killed between two files, plan left a set to be placed: week finds all of it in its place."""
    real, steps = os.replace, []

    class Dead(BaseException):
        pass

    def replace(*args):
        if len(steps) == 4:
            raise Dead
        steps.append(args)
        real(*args)

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", replace)
        with contextlib.suppress(Dead):
            run(loft, PLAN)
    plan = loft / "plan"
    assert len(steps) == 4
    assert (plan / TO_BE_PLACED / "plan.json").exists()
    assert run(loft, ("week", "--on", TODAY)).exit_code == 0
    form = json.loads((plan / "plan.json").read_text(encoding="utf-8"))
    assert form["again"]["date"] == TODAY
    for name in ("sowings.csv", "sites.csv", "calendar.ics", "report.html"):
        text = (plan / name).read_text(encoding="utf-8")
        assert form["batches"][-1]["batch"] in text, name
    assert not any((plan / name).exists() for name in (TO_BE_PLACED, BEING_WRITTEN, LOCK))


PATHS = st.lists(st.integers(0, 10_000), min_size=1, max_size=5)
VALUES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**12), 10**12),
    st.floats(allow_nan=False),
    st.text(max_size=8),
    st.sampled_from([[], {}, [[]], "2026-04-01", "9999-12-31", "1-999999999", "cut"]),
)


SHORT = {key: value for key, value in FORM.items() if key not in ("beds", "fits", "bill", "unit_costs")} | {
    key: FORM[key][:6] for key in ("batches", "jobs", "sites", "supply")
}


def mutated(path, value, *, gone, form=SHORT):
    """Return plan.json with the value that a walk by numbers comes to replaced or taken away."""
    form = copy.deepcopy(form)
    here = form
    for number in path[:-1]:
        keys = list(here) if isinstance(here, dict) else list(range(len(here)))
        below = here[keys[number % len(keys)]] if keys else None
        if not below or not isinstance(below, dict | list):
            break
        here = below
    keys = list(here) if isinstance(here, dict) else list(range(len(here)))
    key = keys[path[-1] % len(keys)]
    if gone:
        del here[key]
    else:
        here[key] = value
    return form


@settings(max_examples=examples(40), suppress_health_check=[HealthCheck.function_scoped_fixture])
@example(path=[4, 0, 0], value=None, gone=True)
@given(path=PATHS, value=VALUES, gone=st.booleans())
def test_whatever_stands_in_it_is_a_plan_or_a_problem(path, value, gone, tmp_path):
    """Reading never raises."""
    check_mutated(path, value, gone, tmp_path)


@pytest.mark.deep
@settings(max_examples=5000, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(path=PATHS, value=VALUES, gone=st.booleans())
def test_whatever_stands_in_it_in_many_cases(path, value, gone, tmp_path):
    """Reading never raises."""
    check_mutated(path, value, gone, tmp_path)


def check_mutated(path, value, gone, tmp_path):
    plan, problems = read(json.dumps(mutated(path, value, gone=gone)), tmp_path)
    assert (plan is None) == (len(problems) == 1)


@pytest.mark.deep
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(path=PATHS, value=VALUES, gone=st.booleans())
def test_whatever_stands_in_it_the_week_comes(path, value, gone, loft):
    """No traceback where the jobs as written are shown, nor where the plan is continued."""
    form = mutated(path, value, gone=gone, form=FORM)
    for more in ({}, {"space_sha256": "of another space"}):
        (loft / "plan" / "plan.json").write_text(json.dumps(form | more), encoding="utf-8")
        assert run(loft, ("week", "--on", TODAY)).exit_code in (0, 2)

"""A season from Python gives the same as the commands: the same plans, files, notes and mistakes."""

import csv
import json
import pickle
import runpy
import shutil
import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import pandas as pd  # noqa: TID253 - this is what is tested
import pytest
from typer.testing import CliRunner

import cropcal
from cropcal.cli.main import app

PROJECT = Path(__file__).resolve().parents[2]
SPACE = """
[place]
name = "Lock-keeper's shed"
timezone = "Europe/Brussels"
[[zone]]
name = "bench"
length_m = 1.0
width_m = 0.6
lit = [["06:00", "22:00"]]
lamp_on_air_c = 22
lamp_off_air_c = 18
[[bed]]
name = "gutter"
zone = "bench"
rows = 2
columns = 3
length_m = 0.7
width_m = 0.3
[[bed]]
name = "mats"
zone = "bench"
kind = "tray"
rows = 1
columns = 3
length_m = 0.6
width_m = 0.2
[[fixture]]
zone = "bench"
lamp = "white LED"
watts = 110
watts_from = "label"
lamp_to_canopy_m = 0.3
[[load]]
name = "pump"
watts = 6
always = true
[tariff]
currency = "EUR"
[[tariff.rate]]
per_kwh = 0.28
[plan]
start = 2025-01-06
weeks = 9
work_days = ["mon", "thu"]
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
[[want]]
crops = ["microgreens-brassica"]
per_week = 50
unit = "g"
"""
AIR = "time,air_c\n" + "".join(
    f"2025-01-{day:02d}T{hour:02d}:30,{24.5 if 6 <= hour < 22 else 19.5}\n"
    for day in range(6, 27)
    for hour in range(24)
)
METER = "date,kwh\n" + "".join(f"2025-01-{day:02d},{100 + 1.6 * day:.2f}\n" for day in range(6, 28))
TRIED = {"zone.bench.lit": [["06:00", "20:00"]], "plan.weeks": 8, "place.name": 'The "other" shed'}
NEXT_DAY = "2025-01-27"
SHEETS = {
    "sowings.csv": "sowings",
    "jobs.csv": "jobs",
    "supply.csv": "supply",
    "sites.csv": "sites",
    "bill.csv": "bill",
    "light.csv": "light",
    "seeds.csv": "seed_orders",
    "timers.csv": "timers",
    "setpoints.csv": "set_points",
}


def run(*words, code=(0, 1)):
    done = CliRunner().invoke(app, [str(word) for word in words])
    assert done.exit_code in code, done.output
    return done


def form_of(folder):
    """Return what a plan.json says, but for the seconds it took."""
    form = json.loads((folder / "plan.json").read_text(encoding="utf-8"))
    form["outcome"].pop("seconds")
    return form


def journal_of(folder):
    with (folder / "journal.csv").open(encoding="utf-8", newline="") as file:
        rows = [dict(row) for row in csv.DictReader(file)]
    return [{key: row[key] for key in row if key not in ("id", "written_at")} for row in rows]


@pytest.fixture(scope="module")
def shed(tmp_path_factory):
    """Return a folder with a space and the plan that the command wrote into it."""
    folder = tmp_path_factory.mktemp("sheds") / "shed"
    folder.mkdir()
    (folder / "space.toml").write_text(SPACE, encoding="utf-8")
    run("plan", folder, "--on", "2025-01-06")
    return folder


@pytest.fixture
def copy(shed, tmp_path):
    """Return a copy of that folder."""
    return Path(shutil.copytree(shed, tmp_path / "shed"))


@pytest.fixture(scope="module")
def lived(shed, tmp_path_factory):
    """Return the folder three weeks later, noted by commands, and its twin, noted from Python."""
    by_command = Path(shutil.copytree(shed, tmp_path_factory.mktemp("lived") / "shed"))
    from_python = Path(shutil.copytree(shed, tmp_path_factory.mktemp("twin") / "shed"))
    season = cropcal.open(from_python)
    planned = pd.read_csv(shed / "plan" / "sowings.csv", parse_dates=["sow_on"])
    first = {crop: rows.iloc[0] for crop, rows in planned.groupby("crop")}
    lettuce, greens = first["lettuce-butterhead"], first["microgreens-brassica"]
    notes = [
        ("sown", greens["batch"], "1 trays", greens["sow_on"], {}),
        ("sown", lettuce["batch"], "1", lettuce["sow_on"], {}),
        ("lost", lettuce["batch"], "", "2025-01-20", {"why": "slugs"}),
        ("harvested", greens["batch"], "45 g", "2025-01-26", {"note": "a little late"}),
    ]
    for event, thing, amount, on, more in notes:
        words = [event, thing, *([amount] if amount else [])]
        flags = [part for key, value in more.items() for part in (f"--{key}", value)]
        run("log", by_command, *words, "--on", on if isinstance(on, str) else on.date(), *flags)
        season.note(event, thing, amount, on=on, **more)
    for folder in (by_command, from_python):
        (folder / "air.csv").write_text(AIR, encoding="utf-8")
        (folder / "meter.csv").write_text(METER, encoding="utf-8")
    return by_command, from_python


@pytest.fixture(scope="module")
def again(lived, tmp_path_factory):
    """Return two like folders planned again, by the command and from Python, and the plan from Python."""
    by_command, _ = lived
    from_python = Path(shutil.copytree(by_command, tmp_path_factory.mktemp("again") / "shed"))
    run("plan", by_command, "--on", NEXT_DAY)
    plan = cropcal.open(from_python).plan(on=date.fromisoformat(NEXT_DAY))
    plan.write()
    return by_command, from_python, plan


def test_a_note_from_python_is_the_line_that_log_writes(lived):
    """Same events, batches, beds and amounts; ids and times of writing are each line's own."""
    by_command, from_python = map(journal_of, lived)
    assert len(by_command) == 4
    assert from_python == by_command


def test_a_plan_goes_by_journal_series_paces_and_the_plan_before(again):
    """What the command plans again is planned from Python, to the last number of plan.json."""
    by_command, from_python, plan = again
    form = form_of(by_command / "plan")
    assert form_of(from_python / "plan") == form
    assert form["again"]["date"] == NEXT_DAY
    assert "lost" in {row["what"] for row in form["again"]["changes"]}
    assert {row["source"] for row in form["measured"]} == {"air.csv", "meter.csv"}
    assert any("learned" in f"{row}" for row in form["assumptions"]), form["assumptions"]
    assert plan.outcome.short_want_weeks == pytest.approx(form["outcome"]["short_want_weeks"])


def test_every_file_of_the_plan_is_written_alike(again):
    """The same names, and the same bytes in everything that is no picture."""
    by_command, from_python, _ = again
    names = {path.name for path in (by_command / "plan").iterdir()}
    assert names == {path.name for path in (from_python / "plan").iterdir()}
    for name in sorted(name for name in names if name.endswith((".csv", ".ics"))):
        assert (by_command / "plan" / name).read_bytes() == (from_python / "plan" / name).read_bytes(), name


@pytest.mark.parametrize(("name", "attribute"), SHEETS.items())
def test_a_frame_is_its_csv_file_with_types(again, name, attribute):
    """Same columns, same rows; numbers to the three decimals of the file, days as days."""
    folder, _, plan = again
    frame = getattr(plan, attribute)
    with (folder / "plan" / name).open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert list(frame.columns) == rows[0]
    assert len(frame) == len(rows) - 1 > 0
    for column, cells in zip(frame.columns, zip(*rows[1:], strict=True), strict=True):
        values, kind = frame[column], frame[column].dtype.kind
        if kind == "M":
            length = 7 if column == "month" else 10
            shown = ["" if pd.isna(value) else f"{value:%Y-%m-%d}"[:length] for value in values]
            assert shown == [*cells]
        elif kind in "if":
            written = [float(cell) if cell else float("nan") for cell in cells]
            assert values.tolist() == pytest.approx(written, abs=6e-4, nan_ok=True)
        else:
            assert [*values.fillna("")] == [*cells]


def test_columns_have_real_types(again):
    """What a notebook sorts, adds and draws needs no conversion; a missing day or number is missing."""
    *_, plan = again
    kinds = {column: dtype.kind for column, dtype in plan.sowings.dtypes.items()}
    assert {kinds[name] for name in ("sow_on", "emerge_on", "transplant_on", "ready_from", "clear_on")} == {
        "M"
    }
    assert {kinds[name] for name in ("seeds", "cells", "sites")} == {"i"}
    assert kinds["amount"] == kinds["amount_low_80"] == "f"
    assert plan.sowings["transplant_on"].isna().all()
    assert plan.supply["week"].dtype.kind == plan.bill["month"].dtype.kind == "M"
    assert isinstance(plan.jobs["crop"].dtype, pd.StringDtype)
    assert plan.supply["chance"].between(0, 1).any()
    by_crop = plan.harvests.groupby("crop")["amount"].sum()
    planned = plan.sowings.groupby("crop")["amount"].sum()
    assert by_crop.to_dict() == pytest.approx({crop: planned[crop] for crop in by_crop.index})
    assert plan.ranges.columns.tolist()[:3] == ["crop", "bed", "dli_low_80_mol_m2_d"]


def test_an_empty_plan_still_has_typed_columns(show_plans):
    """Nothing planned is no reason for a program to fail on a missing column."""
    from cropcal.show.data import tables
    from cropcal.show.data.frames import frame

    empty = frame(tables.sowings(show_plans.empty_plan()))
    assert list(empty.columns) == list(tables.SOWINGS)
    assert len(empty) == 0
    assert empty["sow_on"].dtype.kind == "M"
    assert empty["amount"].sum() == 0


def test_the_choices_are_a_table(again, show_plans):
    """What each sows, misses and costs, with days and chances as such; no rows where nothing was chosen."""
    _, _, plan = again
    by_sow = replace(plan, result=show_plans.searched_plan()).choices.set_index("sow")
    assert by_sow.index.tolist() == ["sparing", "usual", "safe"]
    assert by_sow["chosen"].tolist() == [False, True, False]
    assert by_sow["cells"].tolist() == [9, 11, 15]
    numbers = by_sow.loc["usual", ["short_want_weeks", "surplus_want_weeks", "least_sure"]]
    assert numbers.tolist() == [1.24, 0.7, 0.44]
    assert f"{by_sow.loc['safe', 'least_sure_week']:%Y-%m-%d}" == "2027-04-26"
    assert set(by_sow["least_sure_want"]) == {"lettuce-butterhead"}
    assert set(by_sow["power_unit"]) == {"EUR a month"}
    none = replace(plan, result=show_plans.small_plan()).choices
    assert len(none) == 0
    assert none["least_sure_week"].dtype.kind == "M"


@pytest.mark.deep
def test_tried_values_are_those_of_set(shed, tmp_path):
    """with_values gives the plan that --set gives, and the space keeps its own."""
    season = cropcal.open(shed)
    kept = (shed / "plan" / "plan.json").read_bytes()
    sets = [part for option in season.with_values(TRIED).sets for part in ("--set", option)]
    run("plan", shed, "--on", "2025-01-06", "--out", tmp_path / "command", *sets)
    tried = season.with_values(TRIED)
    tried.plan(on="2025-01-06").write(tmp_path / "python")
    form = form_of(tmp_path / "command")
    assert [given["key"] for given in form.pop("set")["given"]] == [
        "zone.bench.lit",
        "plan.weeks",
        "place.name",
    ]
    assert form_of(tmp_path / "python") == form
    assert form["weeks"] == 8
    assert tried.space.place.name == 'The "other" shed'
    assert season.space.settings.weeks == 9
    assert tried.with_values({"plan.weeks": 7}).space.settings.weeks == 7
    assert tried.bill()["kwh"].sum() < season.bill()["kwh"].sum()
    with pytest.raises(ValueError, match="found no folder"):
        tried.plan(on="2025-01-06", time_limit_s=1).write()
    assert (shed / "plan" / "plan.json").read_bytes() == kept


def test_a_forecast_is_that_of_when(lived):
    """With the pace that the journal taught, on the day and in the bed that were asked for."""
    folder, _ = lived
    season = cropcal.open(folder)
    said = json.loads(run("when", folder, "microgreens-brassica", "--sown", "2025-02-03", "--json").stdout)
    row = season.when("microgreens-brassica", sown=pd.Timestamp("2025-02-03"), bed="mats").iloc[0]
    days = [f"{row[name]:%Y-%m-%d}" for name in ("ready_low_80", "ready", "ready_high_80", "ready_until")]
    low, high = said["harvest"]["range_80"]
    assert days == [low, said["harvest"]["middle"], high, said["harvest"]["last"]]
    assert row["g_per_plant"] == pytest.approx(said["cuts"][0]["g_per_plant"]["middle"], abs=1e-5)
    (folder / "journal.csv").rename(folder / "set_aside")
    unlearned = season.when("microgreens-brassica", sown="2025-02-03").iloc[0]
    (folder / "set_aside").rename(folder / "journal.csv")
    assert unlearned["ready"] != row["ready"]


def test_answers_have_a_row_for_all_there_is(shed):
    """Light by site and bed, suitability, lamp hours, bill: as the commands' --json."""
    season = cropcal.open(shed)
    said = json.loads(run("light", shed, "--json").stdout)
    beds = season.bed_light().set_index("bed")
    for bed in said["beds"]:
        assert beds.loc[bed["bed"], "dli_mol_m2_d"] == pytest.approx(bed["dli_mol_m2_d"]["mean"], abs=1e-5)
        assert season.light().query("bed == @bed['bed']")["ppfd_umol_m2_s"].tolist() == pytest.approx(
            [site["ppfd_umol_m2_s"] for site in bed["sites"]], abs=1e-5
        )
    suitability = season.suitability().set_index(["crop", "bed"])
    assert len(suitability) == len(said["fits"]) > 0
    for fit in said["fits"]:
        row = suitability.loc[fit["crop"], fit["bed"]]
        for column in ("verdict", "why", "cure"):
            assert row[column] == fit[column]
        for column in ("plants_m2", "usual_plants_m2"):  # None in trays, which are sown all over
            if fit[column] is None:
                assert pd.isna(row[column])
            else:
                assert row[column] == pytest.approx(fit[column], abs=1e-5)
    hours = json.loads(run("photoperiod", shed, "--json").stdout)["zones"][0]
    picked = season.photoperiod().query("picked")
    assert picked["photoperiod_h"].tolist() == [hours["pick"]["photoperiod_h"]]
    assert set(season.photoperiod(by_crop=True)["crop"]) == {"lettuce-butterhead", "microgreens-brassica"}
    told = json.loads(run("bill", shed, "--year", "--json").stdout)
    assert season.bill(year=True)["cost"].sum() == pytest.approx(
        sum(line["cost"] for month in told["months"] for line in month["lines"]), abs=1e-3
    )
    assert season.currency == "EUR"
    crops = season.crops().set_index("slug")
    assert crops.loc["lettuce-butterhead", "anchor_days"] == 35
    assert crops["photoperiod_max_h"].isna().any()
    assert "enriched" in set(crops["anchor_co2"].dropna())
    assert crops["keeping_d"].dtype == float  # whole numbers, missing for some


def test_a_broken_space_raises_the_problems_of_check(copy):
    """All of them, as data: file, line, key, found, expected, hint."""
    broken = SPACE.replace("weeks = 9", "weeks = 900").replace('zone = "bench"\nrows = 2', "rows = 2")
    (copy / "space.toml").write_text(broken, encoding="utf-8")
    (copy / "journal.csv").write_text("day,happened\n2025-01-08,sown\n", encoding="utf-8")
    (copy / "meter.csv").write_text("date,kwh\n2025-01-08,lots\n", encoding="utf-8")
    listed = json.loads(run("check", copy, "--json", code=(2,)).stdout)["problems"]
    with pytest.raises(
        cropcal.SpaceError, match=r"plan\.weeks: found 900, expected a whole number"
    ) as raised:
        cropcal.open(copy)
    problems = raised.value.problems
    assert [problem.as_dict() for problem in problems] == listed
    assert len(problems) >= 4
    weeks = next(problem for problem in problems if problem.key == "plan.weeks")
    assert (weeks.file, weeks.found) == (str(copy / "space.toml"), "900")
    assert weeks.line == broken.splitlines().index("weeks = 900") + 1
    assert str(weeks) in str(raised.value)
    assert pickle.loads(pickle.dumps(raised.value)).problems == problems


def test_a_file_that_breaks_later_is_told_by_the_next_answer(copy):
    """A season holds no copy: it reads the files as they are, so nothing old is taken for true."""
    season = cropcal.open(copy)
    (copy / "space.toml").write_text(SPACE.replace("weeks = 9", "weeks = 8"), encoding="utf-8")
    assert season.space.settings.weeks == 8
    (copy / "space.toml").write_text("weeks = ", encoding="utf-8")
    with pytest.raises(cropcal.SpaceError, match=r"space\.toml:1"):
        season.light()


@pytest.mark.parametrize(
    ("ask", "message"),
    [
        (lambda season: season.when("lettuce-buterhead"), 'crop: found "lettuce-buterhead", .*did you mean'),
        (
            lambda season: season.when("basil", sown="in March"),
            'sown: found "in March", expected a date like',
        ),
        (lambda season: season.when("basil", bed="guter"), 'bed: found "guter", .*did you mean "gutter"'),
        (lambda season: season.plan(on="soon"), 'on: found "soon", expected a date like'),
        (lambda season: season.plan(time_limit_s=0), "time_limit_s: found 0, expected"),
        (lambda season: season.plan(sow="safer"), 'sow: found "safer", expected one of "sparing"'),
        (lambda season: season.with_values({"plan.wekks": 8}), 'plan.wekks=8: .*did you mean "weeks"'),
        (lambda season: season.with_values({"plan.weeks": {8}}), "found set .8., expected a text, number"),
        (lambda season: season.note("harvestd", "basil", 2), 'event: found "harvestd", .*"harvested"'),
        (lambda season: season.note("lost", "basil", on="2150-01-01"), "on: found .*a day up to today"),
        (lambda season: season.note("harvested", "lettuce-butterhead"), "amount: found nothing"),
        (lambda season: season.note(""), "event: found nothing"),
        (lambda season: season.undo("nobody"), 'undo: found "nobody"'),
        (lambda season: cropcal.open(season.path / "none"), "none: found no such file"),
    ],
)
def test_a_wrong_argument_is_one_clear_line(shed, ask, message):
    """The argument by its Python name, what was found, what was expected; nothing is written."""
    with pytest.raises(ValueError, match=message) as raised:
        ask(cropcal.open(shed))
    assert "--" not in str(raised.value)
    assert "\n" not in str(raised.value)
    assert not (shed / "journal.csv").exists()


def test_a_note_can_be_taken_back_and_says_what_the_command_says(copy):
    """The same words reach whoever asks for them, and an undone line is no event."""
    season, heard = cropcal.open(copy), []
    entry = season.note("lost", "lettuce-butterhead", on="2025-01-10", bed="gutter", tell=heard.append)
    assert entry.event == "lost"
    assert entry.bed == "gutter"
    assert heard[0].startswith("Noted for Fri 10 Jan: lost all Butterhead lettuce")
    undone = season.undo(entry)
    assert undone.corrects == entry.id
    assert [row["event"] for row in journal_of(copy)] == ["lost", "undone"]


def test_a_folder_that_cannot_be_written_changes_nothing(again, tmp_path):
    """A SpaceError, as every other mistake."""
    *_, plan = again
    (tmp_path / "taken").write_text("mine", encoding="utf-8")
    with pytest.raises(cropcal.SpaceError, match="taken"):
        plan.write(tmp_path / "taken")
    assert (tmp_path / "taken").read_text(encoding="utf-8") == "mine"


def test_small_commands_do_without_pandas(shed):
    """A plan, too, is written without it: only who asks for a DataFrame waits for it to load."""
    code = (
        "import sys\n"
        "from typer.testing import CliRunner\n"
        "from cropcal.cli.main import app\n"
        "import cropcal\n"
        "for command in ('check', 'light', 'log', 'crops', 'week'):\n"
        f"    assert CliRunner().invoke(app, [command, {str(shed)!r}]).exit_code == 0, command\n"
        f"cropcal.open({str(shed)!r})\n"
        "assert 'pandas' not in sys.modules\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_the_package_lists_its_public_names():
    """What an editor offers after ``cropcal.`` is what there is."""
    assert dir(cropcal) == ["Plan", "Season", "SpaceError", "__version__", "open"]
    assert all(getattr(cropcal, name) for name in dir(cropcal))
    with pytest.raises(AttributeError, match="no attribute 'opne'"):
        _ = cropcal.opne


@pytest.mark.deep
def test_the_notebook_runs(tmp_path, monkeypatch, capsys):
    """The whole chain in ten lines, on the example; and a picture with a panel for each want."""
    shutil.copytree(PROJECT / "examples", tmp_path / "examples")
    monkeypatch.chdir(tmp_path)
    script = tmp_path / "examples" / "notebook.py"
    shown = script.read_text(encoding="utf-8")
    assert "time_limit_s=20" in shown
    script.write_text(shown.replace("time_limit_s=20", "time_limit_s=3"), encoding="utf-8")
    done = runpy.run_path(str(script))
    printed = capsys.readouterr().out
    assert f"{done['plan']!r}" in printed
    assert "residual-current device" in printed
    assert set(done["suits"]["bed"]) <= set(done["light"]["bed"])
    assert done["one_sowing"]["ready"].notna().all()
    assert len(done["calendar"]) == len(done["plan"].sowings) > 0
    assert len(done["figure"].axes) == done["plan"].supply["want"].nunique()
    assert all(axes.get_ylabel().endswith(" a week") for axes in done["figure"].axes)
    assert (tmp_path / "supply.png").stat().st_size > 10_000


def test_the_guide_shows_the_first_cell_of_the_notebook():
    """Word for word."""
    shown = (PROJECT / "examples" / "notebook.py").read_text(encoding="utf-8")
    guide = (PROJECT / "examples" / "README.md").read_text(encoding="utf-8")
    block = guide.partition("```python\n")[2].partition("```")[0]
    assert len(block.splitlines()) >= 10
    assert block in shown

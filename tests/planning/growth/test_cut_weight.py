"""The weight at which a plant is cut is a key of the want: ``cut_at_g``."""

import json
from datetime import date
from pathlib import Path

import pytest
from depth import few_of
from typer.testing import CliRunner

from cropcal.cli.main import app

ATTIC = """
[[zone]]
name = "attic"
length_m = 1.2
width_m = 0.9
photoperiod_h = 16
air_c = 20

[[bed]]
name = "crate"
zone = "attic"
kind = "sites"
sites = 8
length_m = 0.8
width_m = 0.8

[[bed]]
name = "tray"
zone = "attic"
kind = "tray"
sites = 2

[[reading]]
bed = "crate"
umol_m2_s = [[210]]
read_with = "meter"

[[reading]]
bed = "tray"
umol_m2_s = [[210]]
read_with = "meter"

[[fixture]]
zone = "attic"
watts = 120

[plan]
start = 2027-01-04
weeks = 20

{wants}
"""
KALE = '[[want]]\ncrops = ["kale"]\nper_week = 60\n'


def run(*words: object) -> tuple[int, str]:
    answer = CliRunner().invoke(app, [str(word) for word in words])
    return answer.exit_code, answer.output


def space(folder: Path, wants: str = KALE) -> Path:
    path = folder / "space.toml"
    path.write_text(ATTIC.format(wants=wants), "utf-8")
    return path


def planned(folder: Path, wants: str, *more: object) -> list[dict]:
    return plan_of(folder, wants, *more)[0]


def plan_of(folder: Path, wants: str, *more: object) -> tuple[list[dict], str]:
    code, output = run(
        "plan",
        space(folder, wants),
        "--on",
        "2027-01-04",
        "--time-limit",
        "1",
        "--out",
        folder / "plan",
        "--all",
        *more,
    )
    assert code in (0, 1), output
    return json.loads((folder / "plan" / "plan.json").read_text("utf-8"))["batches"], output


def days(batch: dict) -> int:
    return (date.fromisoformat(batch["ready_from"]) - date.fromisoformat(batch["sow_on"])).days


def test_kale_cut_lighter_is_ready_earlier(tmp_path: Path) -> None:
    heavy = planned(tmp_path, KALE)
    light, screen = plan_of(tmp_path, KALE + "cut_at_g = 60\n")
    assert min(map(days, light)) < min(map(days, heavy)) - 5
    assert {batch["cut_at_g"] for batch in light} == {60}
    assert {batch["cut_at_g"] for batch in heavy} == {None}
    jobs = json.loads((tmp_path / "plan" / "plan.json").read_text("utf-8"))["jobs"]
    cuts = [job for job in jobs if job["job"] == "cut"]
    assert cuts
    assert all("at 60 g a plant" in job["note"] for job in cuts)
    assert "Kale, cut at 60 g" in screen


def test_two_wants_cut_one_crop_at_two_weights(tmp_path: Path) -> None:
    batches = planned(tmp_path, KALE + "cut_at_g = 60\n" + KALE + "cut_at_g = { kale = 120 }\n")
    light, heavy = ([days(batch) for batch in batches if batch["want"] == want] for want in (0, 1))
    assert light
    assert heavy
    assert max(light) < max(heavy)


@pytest.mark.parametrize(
    ("wants", "says"),
    [
        (KALE + "cut_at_g = 0\n", "a weight of one plant in g above 0"),
        (KALE + 'cut_at_g = "60"\n', "leave out the quotes: 60"),
        (KALE + "cut_at_g = { kale = -1 }\n", "a weight of one plant in g above 0"),
        (KALE + "cut_at_g = { kal = 60 }\n", 'did you mean "kale"?'),
        ('[[want]]\ncrops = ["pea-shoots"]\nper_week = 60\ncut_at_g = 20\n', "not by the weight of a plant"),
    ],
)
def test_wrong_weights_get_one_message_with_their_line(tmp_path: Path, wants: str, says: str) -> None:
    path = space(tmp_path, wants)
    lines = path.read_text("utf-8").splitlines()
    line = next(at for at, text in enumerate(lines, 1) if text.startswith("cut_at_g"))
    code, output = run("check", path)
    assert code == 2
    assert f"space.toml:{line}: " in output
    assert says in " ".join(output.split())
    assert "Traceback" not in output


def test_a_weight_far_from_the_table_is_asked_about(tmp_path: Path) -> None:
    _, output = run("check", space(tmp_path, KALE + "cut_at_g = 8\n"))
    assert "8 g a plant" in " ".join(output.split())


def test_set_takes_the_weight(tmp_path: Path) -> None:
    code, output = run("check", space(tmp_path), "--set", "want.kale.cut_at_g=8")
    assert "8 g a plant" in " ".join(output.split()), (code, output)


@pytest.mark.deep
def test_standing_plants_are_cut_at_the_weight_wanted_now(tmp_path: Path) -> None:
    first = planned(tmp_path, KALE)
    day = min(batch["sow_on"] for batch in first)
    early = [batch for batch in first if batch["sow_on"] == day]
    lines = [f"{day},sown,{batch['batch']},{batch['crop']},{batch['bed']}," for batch in early]
    journal = "on,event,batch,crop,bed,amount\n" + "\n".join(lines) + "\n"
    (tmp_path / "journal.csv").write_text(journal, "utf-8")

    space(tmp_path, KALE + "cut_at_g = 60\n")
    later = date.fromordinal(date.fromisoformat(day).toordinal() + 7)
    code, output = run("plan", tmp_path, "--on", later, "--time-limit", "1")
    assert code in (0, 1), output
    again = json.loads((tmp_path / "plan" / "plan.json").read_text("utf-8"))["batches"]
    standing = [batch for batch in again if batch["batch"] == early[0]["batch"]]
    assert standing
    assert days(standing[0]) < days(early[0]) - 5
    assert standing[0]["cut_at_g"] == 60


@pytest.mark.parametrize("wanted", few_of([KALE + "cut_at_g = 60\n", KALE], 1))
def test_a_harvest_on_its_day_teaches_little_at_either_weight(tmp_path: Path, wanted: str) -> None:
    batch = planned(tmp_path, wanted)[0]
    cut_on = batch["harvests"][0]["date"]
    journal = (
        "on,event,batch,crop,bed,amount,unit\n"
        f"{batch['sow_on']},sown,{batch['batch']},kale,crate,,\n"
        f"{cut_on},harvested,{batch['batch']},kale,crate,{batch['harvests'][0]['amount']:.0f},{batch['unit']}\n"
    )
    (tmp_path / "journal.csv").write_text(journal, "utf-8")
    code, output = run("learned", tmp_path, "--json")
    assert code == 0, output
    lessons = json.loads(output)["lessons"]
    assert [lesson["kind"] for lesson in lessons] == ["weighed"]
    assert abs(lessons[0]["odd"]) < 0.5


def test_a_head_cut_without_a_scale_weighed_what_was_wanted(tmp_path: Path) -> None:
    wants = '[[want]]\ncrops = ["lettuce-butterhead"]\nper_week = 1\ncut_at_g = 90\n'
    batch = planned(tmp_path, wants)[0]
    cut_on = batch["harvests"][0]["date"]
    journal = (
        "on,event,batch,crop,bed,amount,unit\n"
        f"{batch['sow_on']},sown,{batch['batch']},{batch['crop']},crate,,\n"
        f"{cut_on},harvested,{batch['batch']},{batch['crop']},crate,1,heads\n"
    )
    (tmp_path / "journal.csv").write_text(journal, "utf-8")
    code, output = run("learned", tmp_path, "--json")
    assert code == 0, output
    lessons = json.loads(output)["lessons"]
    assert [(lesson["kind"], lesson["seen"]) for lesson in lessons] == [("cut ready", 90)]

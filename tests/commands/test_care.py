"""Each caution holds where its condition does and nowhere else, and is printed where it matters, once."""

import json
import re
import shutil
from pathlib import Path

import pytest
from depth import few_of
from in_process import cropcal

from cropcal.planning.care.facts import has_word, night_minutes
from cropcal.planning.care.rules import RULES, cautions
from cropcal.records.hazard import GENERAL_CAUTIONS, Caution, CautionCode
from cropcal.show import care_words
from cropcal.show.pictures import render as picture
from cropcal.show.pictures.shapes import TextLine
from cropcal.show.pictures.wall_labels import label_pages

HERE = Path(__file__).resolve().parents[1] / "spaces"
SPACES = sorted((HERE / "care").glob("*.toml"))
QUICK = ("nothing", "added_co2", "ceramic_halide", "baby_mustard", "school", "pea_shoots", "solution_chore")
PRINTED = sorted(SPACES, key=lambda path: path.stem not in QUICK)


def expected(path):
    """Return the codes that the first line of a space names."""
    codes = path.read_text(encoding="utf-8").splitlines()[0].removeprefix("# expect: ")
    return [] if codes == "none" else codes.split(", ")


def care_of(path):
    """Return ``care[]`` by code as the command prints it."""
    done = cropcal("care", path, "--json")
    assert done.returncode == 0, done.both
    return {row["code"]: row for row in json.loads(done.stdout)["care"]}


def test_there_are_enough_spaces():
    """Twenty with a condition, and some without any; every code but that of the journal is among them."""
    held = [code for path in SPACES for code in expected(path)]
    assert sum(bool(expected(path)) for path in SPACES) >= 20
    assert sum(not expected(path) for path in SPACES) >= 3
    assert {*held, *GENERAL_CAUTIONS, "mould"} == set(CautionCode.__args__)
    assert len(RULES) == len(CautionCode.__args__)


@pytest.mark.parametrize("path", SPACES, ids=lambda path: path.stem)
def test_a_caution_holds_where_its_condition_does(path):
    """The three general ones always, and those that the file names: no more, in the order of the list."""
    held = care_of(path)
    assert list(held) == [*GENERAL_CAUTIONS, *expected(path)]
    for row in held.values():
        assert row["ask"], row
        assert row["words"]
        assert row["source"]


@pytest.mark.parametrize("path", few_of(PRINTED, 7), ids=lambda path: path.stem)
def test_a_caution_is_printed_where_it_matters(path):
    """``light`` has those of lamps and gas, ``crops`` those of allergens, each once; the others none."""
    for command in ("light", "crops"):
        due = [code for code in expected(path) if command in care_words.SCREENS[code]]
        form = json.loads(cropcal(command, path, "--json").stdout)
        assert [row["code"] for row in form.get("care", [])] == due
        screen = " ".join(cropcal(command, path, "--all").stdout.split())
        for row in form.get("care", []):
            assert screen.count(row["words"]) == 1
        assert ("Take care here" in screen) == bool(due)


@pytest.mark.parametrize("path", SPACES, ids=lambda path: path.stem)
def test_the_list_fits_a_terminal(path):
    """First a line for each of the general three, then what holds here, in 24 lines of 80 columns."""
    lines = cropcal("care", path).stdout.rstrip("\n").split("\n")
    assert len(lines) <= 24
    assert max(map(len, lines[:-1])) <= 80
    here = lines[lines.index("Here") + 1 :]
    general = [line.split()[1].rstrip(":") for line in lines[: -len(here)] if line.startswith("- ")]
    assert general == ["Mains", "Lamps", "Food"]
    assert sum(line.startswith("- ") for line in here) == len(expected(path))
    assert ("Nothing more" in here[0]) == (not expected(path))


def test_all_of_it_names_whom_to_ask_and_where_it_comes_from():
    """Each in full, once."""
    path = HERE / "care" / "ceramic_halide.toml"
    done = cropcal("care", path, "--all")
    screen = " ".join(done.stdout.split())
    for code, row in care_of(path).items():
        assert screen.count(row["words"]) == 1, code
    assert screen.count("Ask: ") == 6
    assert "21 CFR 1040.30" in screen
    assert "local codes, licensed practice and makers come first" in screen
    assert max(map(len, done.stdout.split("\n"))) <= 80


def test_photoperiod_has_the_lamp_at_night():
    """By the hours that are picked; not where the lamp is on by day."""
    for name, due in (("cheap_at_night", ["lamps at night"]), ("nothing", [])):
        form = json.loads(cropcal("photoperiod", HERE / "care" / f"{name}.toml", "--json").stdout)
        assert [row["code"] for row in form.get("care", [])] == due


def test_what_is_tried_counts():
    """A caution that a tried value brings is named as a difference."""
    done = cropcal("care", HERE / "care" / "nothing.toml", "--set", 'care.eaten_by="school"')
    assert "served to others" in done.stdout
    assert "children" in done.stdout


@pytest.mark.parametrize(
    ("line", "message"),
    [
        (
            'eaten_by = "scool"',
            'expected one of "household", "guests", "school", "frail", did you mean "school"?',
        ),
        ("children = 2", "children: found 2, expected true or false"),
        ("guests = 3", "found the unknown key guests, expected a key of [care]: eaten_by, children"),
    ],
    ids=["word", "flag", "key"],
)
def test_a_mistake_in_care_is_named(tmp_path, line, message):
    """With its line, the key and what was expected."""
    text = (HERE / "care" / "nothing.toml").read_text(encoding="utf-8")
    (tmp_path / "space.toml").write_text(f"{text}\n[care]\n{line}\n", encoding="utf-8")
    done = cropcal("check", tmp_path)
    assert done.returncode == 2
    assert message in done.both


def test_mould_in_the_journal_is_remembered_for_two_months(tmp_path):
    """By the words of a note or of why a plant was lost."""
    shutil.copy(HERE / "care" / "nothing.toml", tmp_path / "space.toml")
    journal = tmp_path / "journal.csv"
    rows = {
        "2026-12-20,lost,lettuce-looseleaf,2,plants,grey mould": True,
        "2026-12-20,lost,lettuce-looseleaf,2,plants,moulded pot": False,
        "2026-12-20,lost,lettuce-looseleaf,2,plants,slugs": False,
        "2026-09-20,lost,lettuce-looseleaf,2,plants,grey mould": False,
    }
    for row, held in rows.items():
        journal.write_text(f"on,event,crop,amount,unit,why\n{row}\n", encoding="utf-8")
        assert ("mould" in care_of(tmp_path)) == held, row


def test_an_own_crop_is_known_by_its_name(tmp_path):
    """Leaf celery after the pattern of parsley, radish microgreens after that of the cabbage ones."""
    text = (HERE / "care" / "nothing.toml").read_text(encoding="utf-8")
    (tmp_path / "crops.csv").write_text(
        "slug,like,name\nleaf-celery,parsley,Leaf celery\nradish-micro,microgreens-brassica,Small radish\n",
        encoding="utf-8",
    )
    (tmp_path / "space.toml").write_text(
        text.replace('["lettuce-looseleaf"]', '["leaf-celery"]').replace("per_week = 1", "per_week = 20"),
        encoding="utf-8",
    )
    (row,) = care_of(tmp_path)["allergens"]["allergens"]
    assert row == {"crop": "leaf-celery", "allergen": "celery", "sure": True}
    tray = (HERE / "care" / "pea_shoots.toml").read_text(encoding="utf-8")
    (tmp_path / "space.toml").write_text(tray.replace('["pea-shoots"]', '["radish-micro"]'), encoding="utf-8")
    assert care_of(tmp_path)["food-grade seed"]["crops"] == ["radish-micro"]


def test_water_weighs_a_kilogram_a_litre():
    """Half a square metre, 10 cm deep, is 50 litres."""
    row = care_of(HERE / "care" / "deep_tub.toml")["weight of water"]
    assert (row["litres"], row["kg"], row["assumed_cm"]) == (50.0, 50.0, 10.0)
    row = care_of(HERE / "care" / "tank.toml")["weight of water"]
    assert (row["kg"], row.get("assumed_cm")) == (40.0, None)


def test_the_night_is_counted_by_the_lamp():
    """On from 20:00 to 10:00 it is on all of 23:00 to 06:00; of twenty hours three are left for the night."""
    assert care_of(HERE / "care" / "lamp_by_night.toml")["lamps at night"]["hours"] == 7.0
    assert care_of(HERE / "care" / "twenty_hours.toml")["lamps at night"]["hours"] == 3.0


@pytest.mark.parametrize(
    ("on", "off", "minutes"),
    [(1380, 360, 420), (1350, 1380, 0), (359, 390, 1), (0, 1440, 420), (360, 1380, 0), (1260, 120, 180)],
)
def test_a_night_is_from_eleven_to_six(on, off, minutes):
    """Minutes of lamp light between 23:00 and 06:00, counted by hand."""
    assert night_minutes(((on, off),)) == minutes


def test_words_are_whole_words():
    """Buckwheat is no wheat, a phone is no pH; letters of either case."""
    assert not has_word("wheat", "Buckwheat shoots")
    assert not has_word("ph", "phone the supplier")
    assert has_word("ph", "Look at pH, EC")


def test_every_caution_has_its_words():
    """Whom to ask, a source, a line and a screen for each code."""
    codes = set(CautionCode.__args__)
    assert set(care_words.SOURCES) == codes
    assert set(care_words.SCREENS) | set(GENERAL_CAUTIONS) == codes
    assert set(care_words.GENERAL_SHORT) == set(GENERAL_CAUTIONS)


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """Return the folder of a school's microgreens with their plan, and what ``plan`` printed."""
    folder = tmp_path_factory.mktemp("school")
    text = (HERE / "care" / "brassica_microgreens.toml").read_text(encoding="utf-8")
    rest = '\n[care]\neaten_by = "school"\n\n[[chore]]\nname = "change the solution"\nevery_days = 7\n'
    (folder / "space.toml").write_text(text + rest, encoding="utf-8")
    done = cropcal("plan", folder, "--on", "2027-01-11", "--begun")
    assert done.returncode in (0, 1), done.both
    return folder, done.stdout


def test_the_plan_names_what_holds(planned):
    """In one line of the short form, and as ``care[]`` with codes and facts beside the warnings."""
    folder, screen = planned
    (line,) = [line for line in screen.split("\n") if line.startswith("Take care: ")]
    assert re.fullmatch(r"Take care: nutrients and acids.* and \d more \(cropcal care.*\)", line)
    fits = len(f"Take care: nutrients and acids and 5 more (cropcal care {folder})") <= 80
    assert line.endswith(f"(cropcal care {folder})" if fits else "(cropcal care)")
    assert len(line) <= 80
    form = json.loads((folder / "plan" / "plan.json").read_text(encoding="utf-8"))
    assert [row["code"] for row in form["care"]] == [
        "solution", "food-grade seed", "raw shoots", "allergens", "served to others", "children",
    ]  # fmt: skip
    assert form["cautions"] == list(GENERAL_CAUTIONS.values())


def test_seed_is_called_food_grade_where_it_is_bought_and_sown(planned):
    """In the sowing jobs, in seeds.csv and on the page."""
    plan = planned[0] / "plan"
    jobs = [row for row in (plan / "jobs.csv").read_text(encoding="utf-8").split("\n") if ",sow," in row]
    assert jobs
    assert all("of untreated food-grade seed" in row for row in jobs)
    assert "untreated food-grade seed" in (plan / "seeds.csv").read_text(encoding="utf-8")
    assert "g, untreated food-grade seed" in (plan / "report.html").read_text(encoding="utf-8")


def test_the_page_has_a_line_in_each_part_and_all_of_them_folded(planned):
    """Each caution once in full, in the section of cautions; its line only where it matters."""
    folder, _ = planned
    page = (folder / "plan" / "report.html").read_text(encoding="utf-8")
    form = json.loads((folder / "plan" / "plan.json").read_text(encoding="utf-8"))
    parts = {part: page.split(f'<section id="{part}"')[1].split("</section>")[0] for part in
             ("next", "eat", "light", "hours", "care")}  # fmt: skip
    assert all(parts["care"].count(row["words"]) == page.count(row["words"]) == 1 for row in form["care"])
    assert parts["care"].count("<details>") == 1
    lines = {part: text.count("Take care: ") for part, text in parts.items()}
    assert lines == {"next": 1, "eat": 3, "light": 0, "hours": 0, "care": 0}


@pytest.mark.parametrize(
    ("on", "starts"),
    [
        ("2027-01-11", []),
        ("2027-01-19", ["Nutrients"]),
        ("2027-02-03", ["Nutrients", "Raw", "Allergens", "Food"]),
    ],
    ids=["sowing", "mixing", "cutting"],
)
def test_the_week_has_those_of_its_jobs(planned, on, starts):
    """What is mixed in a week of chores; what is eaten in a week of cutting; none where nothing is due."""
    screen = cropcal("week", planned[0], "--on", on).stdout
    care = screen.split("\nTake care\n")[1].split("\n\n")[0] if starts else ""
    assert ("Take care" in screen) == bool(starts)
    lines = [line for line in care.split("\n") if line.startswith("- ")]
    assert [line.split()[1].rstrip(",:") for line in lines] == starts


def test_a_plan_without_conditions_names_none(tmp_path):
    """No line on the screen, nothing folded on the page."""
    shutil.copy(HERE / "care" / "nothing.toml", tmp_path / "space.toml")
    screen = cropcal("plan", tmp_path, "--on", "2027-01-11", "--begun").stdout
    assert "Take care" not in screen
    assert json.loads((tmp_path / "plan" / "plan.json").read_text(encoding="utf-8"))["care"] == []
    assert "Take care: " not in (tmp_path / "plan" / "report.html").read_text(encoding="utf-8")


def test_conditions_read_no_clock(read_text, tables):
    """The same space gives the same cautions, whatever day it is: the first day of the plan is taken."""
    space = read_text((HERE / "care" / "school.toml").read_text(encoding="utf-8"))
    assert cautions(space, tables) == cautions(space, tables)
    assert [one.code for one in cautions(space, tables)][3:] == ["served to others", "children"]


def test_labels_of_shoots_name_their_seed(small_plan, names):
    """On paper, where the tray stands; other crops' labels say nothing of it."""
    crop = small_plan.batches[0].crop
    seed = Caution(code="food-grade seed", ask=("maker",), crops=(crop,))
    pages = label_pages(
        small_plan.model_copy(update={"care": (seed,)}), names, small_plan.start, picture.printed_width
    )
    lines = [shape.text for page in pages for shape in page if isinstance(shape, TextLine)]
    named = [line for line in lines if line.endswith("untreated food-grade seed")]
    assert len(named) == sum(batch.crop == crop for batch in small_plan.batches)
    assert len([line for line in lines if line.startswith("ready ")]) > len(named) > 0

"""A crop and a day are understood by the names that people use, in every command that takes one."""

import shutil
from datetime import date

import pytest
from as_people_note import shelf
from in_process import cropcal

from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.text.crop_names import crops_named
from cropcal.reading.text.days import read_day
from cropcal.season.errors import OpenError
from cropcal.season.season import open_season

TABLES = read_crop_tables(None)[0]
FRIDAY = date(2027, 1, 8)


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """Return the folder of a space with a plan, not to be written into."""
    return shelf(tmp_path_factory.mktemp("names") / "shelf")


@pytest.mark.parametrize(
    ("text", "lean", "meant"),
    [
        ("5.12.", "past", "2026-12-05"),
        ("5.12.", "coming", "2027-12-05"),
        ("5.12.", "near", "2026-12-05"),
        ("5. 2.", "near", "2027-02-05"),
        ("5.2.27", "past", "2027-02-05"),
        ("5 Dec", "past", "2026-12-05"),
        ("Dec 5th, 2026", "past", "2026-12-05"),
        ("5. Dezember", "past", "2026-12-05"),
        ("the 5th", "past", "2027-01-05"),
        ("31st", "past", "2026-12-31"),
        ("2027/1/5", "past", "2027-01-05"),
        ("25/12", "past", "2026-12-25"),
        ("12/25/26", "past", "2026-12-25"),
        ("12/5", "past", "2026-05-12 2026-12-05"),
        ("12/5", "near", "2026-12-05 2027-05-12"),
        ("1/2/27", "past", "2027-01-02"),  # the first of February is to come
        ("1/2/27", "near", "2027-01-02 2027-02-01"),
        ("1/1", "past", "2027-01-01"),
        ("Tue", "past", "2027-01-05"),
        ("Tue", "near", "2027-01-12"),
        ("last Tue", "near", "2027-01-05"),
        ("Fri", "past", "2027-01-08"),
        ("Fri", "near", "2027-01-08"),
        ("next Friday", "near", "2027-01-15"),
        ("Tuesday last week", "past", "2026-12-29"),
        ("Tue 5 Jan", "past", "2027-01-05"),
        ("Wed 5 Jan", "past", ""),
        ("yesterday evening", "past", "2027-01-07"),
        ("day before yesterday", "past", "2027-01-06"),
        ("a week ago", "past", "2027-01-01"),
        ("gestern", "past", "2027-01-07"),
        ("tomorrow", "near", "2027-01-09"),
        ("29 Feb", "past", "2024-02-29"),
        ("31.2.", "past", ""),
        ("last week", "past", ""),
        ("5", "past", ""),
        ("in May", "past", ""),
        ("Tue or Wed", "past", ""),
    ],
)
def test_a_day_is_read_by_where_it_lies(text, lean, meant):
    """One day, two where it is open, none where it is no day; nothing is guessed."""
    assert " ".join(day.isoformat() for day in read_day(text, FRIDAY, lean).days) == meant


@pytest.mark.parametrize(
    ("text", "here", "meant"),
    [
        ("Butterhead lettuce", (), "lettuce-butterhead"),
        ("butterheads", (), "lettuce-butterhead"),
        ("rocket", (), "arugula-baby"),
        ("Rucola", (), "arugula-baby"),
        ("spinach", (), "spinach-baby"),
        ("bok choy", (), "pak-choi"),
        ("scallions", (), "green-onion"),
        ("coriander", (), "cilantro"),
        ("baby kale", (), "kale-baby"),
        ("kale", ("kale-baby",), "kale"),
        ("lettuce", ("lettuce-romaine", "basil"), "lettuce-romaine"),
        ("herbs", ("mint", "basil"), "basil mint"),
        ("microgreens", (), "microgreens-brassica pea-shoots sunflower-shoots"),
        ("lamb's lettuce", (), ""),
        ("iceberg", (), ""),
        ("", (), ""),
    ],
)
def test_a_crop_is_known_by_its_names(text, here, meant):
    """Slug, printed name, common name, family, mix; what is not in the table is none of them."""
    assert " ".join(crops_named(text, TABLES, here)) == meant


def test_each_common_name_means_one_crop_and_hides_no_other():
    """No common name is a slug or a printed name of another crop."""
    printed = {crop.name.casefold(): slug for slug, crop in TABLES.crops.items()}
    for name, slugs in TABLES.common_names.items():
        assert name == name.casefold()
        assert len(slugs) == 1
        assert printed.get(name, slugs[0]) == slugs[0]
        assert name.replace(" ", "-") not in TABLES.crops


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        (["when", "rocket", "--sown", "5 Jan"], "Baby arugula in trays sown Tue 5 Jan 2027"),
        (["when", "butterhead", "--sown", "Tue"], "sown Tue 22 Dec 2026"),
        (["crops", "--sources", "rocket"], "Baby arugula, Eruca vesicaria"),
        (["explain", "rocket"], "Baby arugula: a crop"),
        (["explain", "lettuce"], "Romaine lettuce: a crop"),
        (["explain", "batch"], "batch: "),
        (["check", "--set", "want[2].crops=[Basil, coriander]"], "no mistakes found"),
        (["check", "--set", "want[1].crops=[cos, Butterhead lettuce]"], "no mistakes found"),
    ],
)
def test_a_command_understands_names_and_days(planned, words, shown):
    """As they are typed, in place of slugs and ISO days."""
    done = cropcal(*words, cwd=planned)
    assert done.returncode == 0, done.stderr
    assert shown in " ".join(done.stdout.split())


@pytest.mark.parametrize(
    ("words", "asked"),
    [
        (["when", "lettuce", "--sown", "5 Jan"], 'CROP: found "lettuce", which may be lettuce-butterhead ('),
        (["when", "basil", "--sown", "12/5"], "2026-12-05 (Sat 5 Dec) or 2027-05-12 (Wed 12 May)"),
        (["week", "--on", "12/5"], '--on: found "12/5", which may be 2026-12-05'),
        (["plan", "--on", "12/5"], '--on: found "12/5", which may be 2026-12-05'),
        (["trial", "lettuce"], 'CROP: found "lettuce", which may be'),
        (["trial", "basil", "--since", "2/3"], "2026-02-03 (Tue 3 Feb) or 2026-03-02 (Mon 2 Mar)"),
        (["trial", "basil", "--since", "31.11."], "there is no day 31 of month 11"),
        (["crops", "--sources", "lettuce"], '--sources: found "lettuce", which may be'),
        (["check", "--set", "want[1].crops=[lettuce]"], 'expected one crop in the table, which of "lettuce-'),
    ],
)
def test_what_is_open_is_asked(planned, words, asked):
    """Exit code 2, with every choice in one line, and nothing is guessed."""
    done = cropcal(*words, cwd=planned)
    assert done.returncode == 2
    assert asked in done.stderr
    assert not (planned / "plan" / "supply.csv").exists()


def test_a_want_in_the_file_may_have_any_name(tmp_path):
    """The file stays as it is; what is read is the slug."""
    folder = tmp_path / "named"
    folder.mkdir()
    file = shelf(tmp_path / "shelf") / "space.toml"
    text = file.read_text(encoding="utf-8").replace(
        '"lettuce-butterhead", "lettuce-romaine"', '"Butterhead", "cos"'
    )
    (folder / "space.toml").write_text(text, encoding="utf-8")
    assert open_season(folder).space.wants[0].crops == ("lettuce-butterhead", "lettuce-romaine")
    assert (folder / "space.toml").read_text(encoding="utf-8") == text


def test_on_a_terminal_it_asks(tmp_path, monkeypatch):
    """The choices by number; Enter takes none, which is refused as without a terminal."""
    monkeypatch.setattr("cropcal.cli.begun.on_terminal", lambda: True)
    folder = shelf(tmp_path / "shelf")
    none = cropcal("log", "harvested", "lettuce", "2", cwd=folder, typed="\n")
    assert none.returncode == 2
    assert "1  lettuce-butterhead (Butterhead lettuce)" in none.stderr
    done = cropcal("log", "harvested", "lettuce", "2", cwd=folder, typed="7\n2\n")
    assert done.returncode == 0
    assert "harvested 2 heads Romaine lettuce, batch 1112a" in " ".join(done.stdout.split())
    done = cropcal("log", "air", "21", "--on", "12/5", cwd=folder, typed="1\n")
    assert "Noted for Tue 12 May" in done.stdout


def test_in_python_the_choices_are_data(tmp_path):
    """So that a page can offer them; and ``done`` notes as the command does."""
    season = open_season(shelf(tmp_path / "shelf"))
    with pytest.raises(OpenError, match='found "lettuce", which may be') as asked:
        season.note("harvested", "lettuce", 2)
    words = [choice.word for choice in asked.value.choices]
    assert words == ["lettuce-butterhead", "lettuce-romaine", "lettuce-baby"]
    assert asked.value.problems[0].file == "thing"
    assert [entry.batch for entry in season.done("basil")] == ["1220c", "1220d", "1220e"]
    shutil.rmtree(season.path)

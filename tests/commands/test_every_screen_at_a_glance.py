"""Every command answers first, in at most 24 lines of 80 columns; ``--all`` says the rest."""

import shutil
from pathlib import Path

import pytest
from depth import few_of
from in_process import cropcal

ROOT = Path(__file__).resolve().parents[2]
SPACES = {
    "kitchen": ROOT / "examples" / "millbrook" / "space.toml",
    "fridge": ROOT / "tests" / "spaces" / "plans" / "fridge-top.toml",
    "sill": ROOT / "tests" / "spaces" / "good" / "window_sill.toml",
}
COMMANDS = ("light", "photoperiod", "bill", "crops", "learned", "check")
LINES, WIDTH = 24, 80
TO_TYPE = ("All of it: ", "Next, type: ", "  cropcal ", "  It is right: ", "  A slip: ")


CASES = [(space, command) for space in SPACES for command in COMMANDS]
SLOW_CASES = [(space, "why") for space in SPACES]


def said(*words, cwd=None):
    done = cropcal(*words, cwd=cwd)
    assert done.returncode in (0, 1), done.both
    return done.stdout.rstrip("\n").split("\n")


def fits(lines):
    """Whether all fits a terminal, and the last lines say how to see the rest and what comes next."""
    assert len(lines) <= LINES, "\n".join(lines)
    wide = [line for line in lines if len(line) > WIDTH and not line.startswith(TO_TYPE)]
    assert not wide


def is_short_of(short, everything):
    """Whether the short screen names the long one, which says more."""
    fits(short)
    if short != everything:
        assert len(everything) > LINES
        assert len(everything) > len(short)
        assert short[-2].startswith("All of it: cropcal ")
        assert short[-2].endswith(" --all")
        assert short[-1].startswith("Next, type: cropcal ")


@pytest.mark.parametrize(("space", "command"), few_of([*CASES, *SLOW_CASES], len(COMMANDS)))
def test_a_command_fits_a_usual_terminal(space, command, tmp_path):
    """What matters first, and the command that it names prints all there is."""
    shutil.copy(SPACES[space], tmp_path / "space.toml")
    is_short_of(said(command, ".", cwd=tmp_path), said(command, ".", "--all", cwd=tmp_path))


@pytest.mark.parametrize(
    ("command", "sections"),
    [
        ("light", ["How the light is known", "Crop by crop", "Light when grown"]),
        ("photoperiod", ["Hours of light a day, crop by crop", "Timer card", "Take care"]),
        ("bill", ["What uses it", "At which price", "Power for one more"]),
        pytest.param(
            "why",
            ["What would help", "What is full", "Sites that each wanted crop takes up"],
            marks=pytest.mark.deep,
        ),
        ("crops", ["In your beds"]),
    ],
)
def test_all_of_it_holds_every_section(command, sections):
    """Those of the example, which the short screen has no room for."""
    example = SPACES["kitchen"].parent
    everything = said(command, example, "--all")
    assert [title for title in sections if title not in everything] == []
    short = said(command, example)
    assert len(short) < len(everything) / 2


def test_light_says_first_whether_crops_grow_well(tmp_path):
    """The count, a line for each bed, the worst crop first with its cure."""
    lines = said("light", SPACES["kitchen"].parent)
    assert lines[0] == "5 of 6 wanted crops grow well here, each in its best bed."
    assert lines[2].startswith("bed ")
    assert [line.split("  ")[0] for line in lines[4:8]] == ["long box", "short box", "trays", "seedling tray"]
    assert lines[9].startswith("Baby spinach: at risk in trays")
    assert lines[10].startswith("  cure: ")


def test_a_year_of_the_sun_fits(tmp_path):
    """A column a month, and in which months a crop grows well."""
    short, everything = said("daylight", SPACES["sill"]), said("daylight", SPACES["sill"], "--all")
    is_short_of(short, everything)
    assert "Butterhead lettuce in sill: enough light to grow well May to Aug" in short
    assert any(line.split()[:3] == ["Jan", "Feb", "Mar"] for line in short)


def test_when_fits():
    """The days of each cut."""
    words = ("when", SPACES["kitchen"].parent, "basil", "--sown", "2027-01-11")
    short, everything = said(*words), said(*words, "--all")
    is_short_of(short, everything)
    assert "Cuts" in short


def test_the_crop_table_fits():
    """Every crop of the table, with the light at which it grows best."""
    short, everything = said("crops"), said("crops", "--all")
    is_short_of(short, everything)
    assert all(any(line.split()[0] in row for row in short) for line in everything[2:32])


def test_a_tried_value_is_compared_first():
    """Before and after, then what matters with it; the command for all tries it too."""
    lines = said("bill", SPACES["kitchen"].parent, "--set", "fixture[1].watts=100")
    fits(lines)
    assert lines[0].startswith("Only tried")
    assert "With that" in lines
    assert lines[-1].endswith("--set 'fixture[1].watts=100' --all")


def test_many_mistakes_fit(tmp_path):
    """The first ones, their number, and how to see them all."""
    unknown = "".join(f"key_{number} = 1\n" for number in range(40))
    (tmp_path / "space.toml").write_text(f"[plan]\n{unknown}", encoding="utf-8")
    short, everything = (cropcal("check", tmp_path, *more).stderr.splitlines() for more in ((), ("--all",)))
    assert sum(-(-len(line) // WIDTH) for line in short) <= LINES
    assert short[-1].endswith(" --all")
    assert len(everything) > len(short)
    assert everything[-1] == short[-2].split(",")[0]


def test_a_new_space_is_summed_up(tmp_path):
    """The last screen of ``new``: in the lines of a terminal, with what was assumed."""
    done = cropcal("new", tmp_path / "shelf", "--yes", "--eat", "salad", "--lamp", "45 W")
    last = done.stdout.split("space.toml\n", 1)[1].strip("\n").split("\n")
    fits(last)
    assert last[-1] == f"Next, type: cropcal plan {tmp_path / 'shelf'}"
    assert any(line.startswith("Assumed: floor") for line in last)


@pytest.mark.deep
def test_all_of_a_new_space_says_what_it_could_give(tmp_path):
    """The whole text of ``new`` has the table that its short screen has no room for."""
    whole = cropcal("new", tmp_path / "other", "--yes", "--eat", "salad", "--lamp", "45 W", "--all")
    assert "What it could give every week" in whole.stdout

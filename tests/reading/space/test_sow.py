"""How much is sown: read from the file, from an older file's ``service``, and as tried with ``--set``."""

import json
import tomllib
from datetime import date

import pytest
from in_process import cropcal

from cropcal.reading.space.read import read_space_with
from cropcal.records.space import Prices

SPACE = """\
[[zone]]
name = "shelf"
length_m = 0.9
width_m = 0.4
photoperiod_h = 16

[[bed]]
name = "box"
zone = "shelf"
sites = 6

[[fixture]]
zone = "shelf"
watts = 45

[[want]]
crops = ["lettuce-butterhead"]
per_week = 2

[plan]
"""


@pytest.fixture
def read(tmp_path, tables):
    """Return a function from the lines under [plan] and options to the space, changes and problems."""

    def reading(lines: str, *options: str):
        (tmp_path / "space.toml").write_text(SPACE + lines, encoding="utf-8")
        return read_space_with(tmp_path, tables, options, "space.toml", today=date(2026, 12, 1))

    return reading


def assumed(space, key):
    return [f"{row.value} ({row.why})" for row in space.assumed if row.key == key]


def test_how_much_is_sown_is_assumed_where_the_file_is_silent(read):
    """Usual, and listed with what else was not given; a file that says it assumes nothing."""
    silent, _, _ = read("")
    assert silent.settings.sow_choice == "usual"
    assert assumed(silent, "plan.sow") == ["usual (not given: how much is sown against bad luck)"]
    told, _, _ = read('sow = "sparing"\n')
    assert (told.settings.sow_choice, assumed(told, "plan.sow")) == ("sparing", [])


@pytest.mark.parametrize(("service", "choice"), [("0", "usual"), ("0.5", "usual"), ("0.8", "safe")])
def test_an_older_service_is_read_and_says_so(read, service, choice):
    """What it counts as, and what to write in its place."""
    space, _, problems = read(f"service = {service}\n")
    assert problems == []
    assert space.settings.sow_choice == choice
    said = f'{choice} (service = {service} is read as sow = "{choice}"; write that instead)'
    assert assumed(space, "plan.sow") == [said]


def test_prices_are_read(read):
    """Those that are given; the others are as usual."""
    space, _, problems = read('sow = "safe"\nprices = { surplus = 0.5, seed = 0 }\n')
    assert problems == []
    assert space.settings.prices == Prices(surplus=0.5, seed=0.0)


@pytest.mark.parametrize("lines", ["", "[plan.prices]\ncell = 0.1\n", "service = 0.8\n"])
def test_a_choice_can_be_tried(read, lines):
    """``--set`` takes it with or without its table in the file, and an older service makes way."""
    space, changes, problems = read(lines, "plan.sow=safe")
    assert problems == []
    assert space.settings.sow == "safe"
    assert space.settings.service is None
    assert ("plan.sow", "safe") in [(change.key, change.now) for change in changes]


def test_a_price_can_be_tried(read, tables, tmp_path):
    """In a table of the file, in one that it has not, and without any [plan] at all."""
    for lines in ("", "[plan.prices]\nsurplus = 0.1\ncell = 0.1\n"):
        space, (change,), problems = read(lines, "plan.prices.surplus=0.5")
        assert problems == []
        assert space.settings.prices.surplus == 0.5
        assert (change.key, change.now) == ("plan.prices.surplus", "0.5")
    (tmp_path / "space.toml").write_text(SPACE.removesuffix("[plan]\n"), encoding="utf-8")
    space, _, _ = read_space_with(tmp_path, tables, ["plan.prices.cell=1"], today=date(2026, 12, 1))
    assert space.settings.prices.cell == 1


@pytest.mark.parametrize(
    ("option", "said"),
    [
        ("plan.sow=safer", 'found safer, expected one of "sparing", "usual", "safe", did you mean "safe"?'),
        ("plan.prices.surplus=-1", "found -1, expected a price in missed weeks from 0 to 10"),
        ("plan.prices.cells=1", 'cells, expected a key of [plan.prices], did you mean "cell"?'),
        ("plan.surplus=1", "surplus, expected a key of [plan], it belongs under [plan.prices]"),
        ("sow=safe", "found the key sow without a table, "),
    ],
)  # fmt: skip
def test_a_wrong_word_or_key_is_told(read, option, said):
    """One message, which names what was meant."""
    space, _, (problem,) = read("", option)
    assert space is None
    assert said in str(problem)


def test_the_check_command_tells_it(tmp_path):
    """Both ways at once are refused by line, through the command."""
    (tmp_path / "space.toml").write_text(SPACE + 'sow = "safe"\nservice = 0.8\n', encoding="utf-8")
    done = cropcal("check", str(tmp_path), "--json")
    assert done.returncode == 2
    (problem,) = json.loads(done.stdout)["problems"]
    assert problem["key"] == "plan.service"
    line = (SPACE + 'sow = "safe"\nservice = 0.8\n').splitlines()[problem["line"] - 1]
    assert tomllib.loads(line) == {"service": 0.8}

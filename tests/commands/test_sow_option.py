"""``plan --sow``: how much is sown this once, in place of what the file says."""

import json

import pytest
from depth import few_of
from small_space import SpaceFolder

from cropcal.season.season import open_season

SHORT = {"weeks": 6, "sites": 4}
COUNTED = {"weeks": 14, "sites": 4}
"""Long enough for a week to be promised."""


@pytest.fixture
def room(tmp_path, monkeypatch):
    return SpaceFolder(tmp_path, monkeypatch)


@pytest.fixture
def asked(monkeypatch):
    """Return a list to which each plan adds how much its space has sown; the plan itself is made as ever."""
    from cropcal.planning import planner

    settings, real = [], planner.plan

    def spy(space, *given, **more):
        settings.append((space.settings.sow, space.settings.service))
        return real(space, *given, **more)

    monkeypatch.setattr(planner, "plan", spy)
    return settings


def assumed(form):
    return {row["key"]: row["value"] for row in form["assumptions"]}


@pytest.mark.parametrize("lines", few_of(['sow = "sparing"', "", "service = 0.8"], 1))
def test_the_option_counts_in_place_of_the_file(room, asked, lines):
    """Whether the file is silent, says another, or what older ones do: it stays as it is."""
    room.write(days=f'["mon", "fri"]\n{lines}', **COUNTED)
    before = (room.folder / "space.toml").read_bytes()
    form = room.json("plan", "--time-limit", 1, "--sow", "safe")
    assert asked == [("safe", None)]
    assert {choice["name"]: choice["chosen"] for choice in form["choices"]} == {
        "sparing": False,
        "usual": False,
        "safe": True,
    }
    assert "plan.sow" not in assumed(form)
    assert (room.folder / "space.toml").read_bytes() == before


def test_it_counts_once(room, asked):
    """The plan is written, and the next one goes by the file again."""
    room.write(**COUNTED)
    room.run("plan", "--time-limit", 1, "--sow", "sparing")
    written = json.loads((room.folder / "plan" / "plan.json").read_text(encoding="utf-8"))
    assert "plan.sow" not in assumed(written)
    shown = room.run("plan", "--time-limit", 1, "--all")
    assert "> usual" in shown
    assert "plan.sow: usual (not given" in shown
    assert [sow for sow, _ in asked] == ["sparing", None]


def test_it_counts_before_and_after_a_tried_value(room, asked):
    """Both plans of ``--set`` are sown so."""
    room.write(**SHORT)
    room.run("plan", "--time-limit", 1, "--sow", "safe", "--set", "bed.channel.sites=6")
    assert asked == [("safe", None), ("safe", None)]


def test_the_choices_are_printed_in_80_columns(room):
    """A real plan's, with power in kWh: there is no tariff."""
    room.write(**COUNTED)
    lines = room.invoke("plan", "--time-limit", 1, "--sow", "sparing", "--all").stdout.split("\n")
    at = lines.index("How much to sow")
    assert [line.split()[0] for line in lines[at + 3 : at + 6]] == [">", "usual", "safe"]
    assert lines[at + 1].endswith("kWh a month")
    assert max(map(len, lines[at : at + 8])) <= 80
    assert "How good it is" in lines
    assert "proven" not in "\n".join(lines)


def test_nothing_is_chosen_where_no_want_has_a_number(room):
    """As much as fits cannot be missed."""
    room.write(per_week="2\n[[want]]\ncrops = ['basil']\n", **SHORT)
    text = (room.folder / "space.toml").read_text(encoding="utf-8")
    (room.folder / "space.toml").write_text(text.replace("per_week = 2\n", ""), encoding="utf-8")
    shown = room.run("plan", "--time-limit", 1, "--all")
    assert "as much as fits" in shown
    assert "How much to sow" not in shown
    assert "Compared with the steady rule" not in shown


def test_from_python_too(room, asked):
    """The same word, as an argument."""
    room.write(**SHORT)
    made = open_season(room.folder).plan(sow="sparing", time_limit_s=1)
    assert asked == [("sparing", None)]
    assert made.space.settings.sow_choice == "sparing"

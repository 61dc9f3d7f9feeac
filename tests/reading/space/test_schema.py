"""The JSON Schema of space.toml, held against good and bad files by a library that knows the standard."""

import json
import tomllib
from datetime import date, time
from pathlib import Path

import jsonschema
import pytest
from in_process import cropcal

from cropcal.reading.space.schema import space_schema

HERE = Path(__file__).resolve().parents[2]
GOOD = [
    *sorted((HERE / "spaces" / "good").glob("*.toml")),
    *sorted((HERE / "spaces" / "plans").glob("*.toml")),
    *sorted(HERE.parent.glob("examples/*/space.toml")),
]
ZONE = "[[zone]]\nname = 'a'\nlength_m = 1\nwidth_m = 1\n"
VALIDATOR = jsonschema.Draft202012Validator(space_schema())


def plain(value):
    """Return TOML data as JSON has it: dates and times as text."""
    if isinstance(value, dict):
        return {key: plain(one) for key, one in value.items()}
    if isinstance(value, list):
        return [plain(one) for one in value]
    return value.isoformat() if isinstance(value, date | time) else value


def faults(text):
    return [error.json_path for error in VALIDATOR.iter_errors(plain(tomllib.loads(text)))]


def test_the_schema_is_one():
    """It obeys the meta-schema of its dialect (JSON Schema 2020-12)."""
    jsonschema.Draft202012Validator.check_schema(space_schema())


@pytest.mark.parametrize("path", GOOD, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_good_files_pass(path):
    """What the reader takes, an editor must not underline."""
    assert faults(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    ("line", "where"),
    [
        ("[place]\ncolour = 1", "$.place"),
        ("[plan]\nweeks = 0", "$.plan.weeks"),
        ("[plan]\nsow = 'safer'", "$.plan.sow"),
        ("[plan.prices]\nsurplus = -1", "$.plan.prices.surplus"),
        ("[plan.prices]\nwater = 1", "$.plan.prices"),
        ('[plan]\nwork_days = ["someday"]', "$.plan.work_days[0]"),
        ("[[zone]]\nname = 'a'\nlength_m = -1\nwidth_m = 1", "$.zone[0].length_m"),
        ("[[zone]]\nname = 'a'\nlength_m = 1", "$.zone[0]"),
        (ZONE + "lit = [['25:00', '01:00']]", "$.zone[0].lit[0][0]"),
        (ZONE + "wall_reflectance = [0.1]", "$.zone[0].wall_reflectance"),
        (ZONE + "daylight_share = [0.1, 0.2]", "$.zone[0].daylight_share"),
        ("[place]\noutdoor_kwh_m2_d = [1, 2]", "$.place.outdoor_kwh_m2_d"),
        ("[[tariff.rate]]\nper_kwh = 'cheap'", "$.tariff.rate[0].per_kwh"),
        ("[[bed]]\nname = 'a'\nzone = 'b'\nkind = 'pond'", "$.bed[0].kind"),
        ("[[bed]]\nname = 'a'\nzone = 'b'\nout_of_use = [{ sites = 'all' }]", "$.bed[0].out_of_use[0].sites"),
        ("[garden]", "$"),
    ],
)  # fmt: skip
def test_mistakes_are_found_where_they_are(line, where):
    """Unknown keys, wrong kinds, bounds, words and times, each at its own place."""
    assert where in faults(line)


def test_no_default_breaks_its_own_schema():
    """What an editor offers for a key left out is a value of that key."""
    plan = space_schema()["properties"]["plan"]["properties"]
    assert plan["prices"] == {"$ref": "#/$defs/Prices"}


def test_the_command_prints_it():
    """``cropcal schema`` writes the same, as JSON that can be sent into a file."""
    done = cropcal("schema")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout) == json.loads(json.dumps(space_schema()))

"""The JSON forms hold the keys that other programs rely on."""

import json
from datetime import date

import pytest

from cropcal.problems import Problem, Where
from cropcal.records.forecast import CutForecast, Days80, Forecast, Range80
from cropcal.show.data import bill_json, crop_json
from cropcal.show.data import json_forms as as_json


def keys_of(entry):
    return list(entry)


def test_check_lists_the_fields_of_each_problem():
    """Each field of a problem has its own key."""
    found = as_json.check([Problem(Where("space.toml", 4), "plan.weeks", "0", "1 to 156", "")])
    assert found == {
        "problems": [
            {
                "file": "space.toml",
                "line": 4,
                "key": "plan.weeks",
                "found": "0",
                "expected": "1 to 156",
                "hint": "",
            }
        ]
    }


def test_crops_have_their_light_and_sources(show_plans):
    """Crops come in the order of their slugs; what is unknown is null."""
    rows = crop_json.crops([show_plans.crop("b", "B"), show_plans.crop("a", "A", photoperiod_max_h=14.0)])[
        "crops"
    ]
    assert [row["slug"] for row in rows] == ["a", "b"]
    assert keys_of(rows[0]) == [
        "slug",
        "name",
        "unit",
        "dli_min_mol_m2_d",
        "dli_target_mol_m2_d",
        "dli_max_mol_m2_d",
        "photoperiod_max_h",
        "sources",
    ]
    assert [row["photoperiod_max_h"] for row in rows] == [14.0, None]
    assert rows[0]["sources"]["seed_g_per_1000"] == {"known": "memory", "keys": [], "note": ""}


def test_light_has_every_site(small_plan):
    """200 umol for 16 h is 11.52 mol (Gavhane et al. 2023); sites are counted from 1."""
    found = as_json.light(small_plan.lights, small_plan.fits)
    bed = found["beds"][0]
    assert keys_of(bed) == [
        "bed",
        "zone",
        "source",
        "sd_ln",
        "how",
        "photoperiod_h",
        "ppfd_umol_m2_s",
        "range_80_umol_m2_s",
        "dli_mol_m2_d",
        "uniformity_min_over_mean",
        "narrower",
        "check",
        "warnings",
        "slips",
        "lamp_factor",
        "sites",
    ]
    assert bed["ppfd_umol_m2_s"] == pytest.approx({"min": 180.0, "mean": 200.0, "max": 228.0})
    assert bed["dli_mol_m2_d"]["mean"] == pytest.approx(11.52)
    assert bed["uniformity_min_over_mean"] == pytest.approx(0.9)
    assert bed["sites"][4] == {"site": 5, "ppfd_umol_m2_s": 228.0}
    assert keys_of(found["fits"][1]) == [
        "crop", "bed", "verdict", "why", "cure", "chance_enough", "chance_not_too_much",
        "plants_m2", "usual_plants_m2",
    ]  # fmt: skip


def test_the_bill_has_months_with_lines(small_plan):
    """Sums added by hand; lines of one use and rate in several zones become one."""
    second = small_plan.bill[0].model_copy(update={"zone": "other shelf", "kwh": 1.0, "cost": 0.5})
    costs = small_plan.unit_costs
    found = bill_json.bill([*small_plan.bill, second], "EUR", year=[second, second], unit_costs=costs)
    assert [row["crop"] for row in found["unit_costs"]] == [cost.crop for cost in costs]
    march = found["months"][0]
    assert found["currency"] == "EUR"
    assert found["year"] == {"kwh": 2.0, "cost": 1.0}
    assert keys_of(march) == ["month", "kwh", "cost", "lines"]
    assert march["kwh"] == pytest.approx(48.238)
    assert march["lines"][0] == {"what": "lamp", "rate": "day", "kwh": 31.25, "cost": pytest.approx(8.97)}
    assert bill_json.bill([second.model_copy(update={"cost": None})], None)["months"][0]["cost"] is None


def test_when_has_a_range_for_each_guess():
    """Dates are ISO 8601; first, middle and last follow each other."""
    ready = Days80(low=date(2027, 4, 6), middle=date(2027, 4, 9), high=date(2027, 4, 13))
    grams = Range80(low=21.0, middle=30.0, high=44.0)
    found = as_json.when(
        Forecast(
            crop="basil-sweet",
            bed="tin tub",
            nursery=None,
            sown=date(2027, 3, 2),
            emergence=ready,
            transplant=date(2027, 3, 16),
            ready=ready,
            ready_until=date(2027, 4, 25),
            g_per_plant=grams,
            g_per_site=grams,
            cuts=(CutForecast(cut=1, ready=ready, g_per_plant=grams),),
            assumptions=(),
            warnings=(),
        )
    )
    assert keys_of(found) == [
        "emergence",
        "transplant",
        "harvest",
        "yield_g_per_plant",
        "cuts",
        "assumptions",
    ]
    assert found["transplant"] == "2027-03-16"
    assert found["harvest"] == {
        "first": "2027-04-06",
        "middle": "2027-04-09",
        "last": "2027-04-25",
        "range_80": ["2027-04-06", "2027-04-13"],
    }
    assert found["yield_g_per_plant"] == {"middle": 30.0, "range_80": [21.0, 44.0]}


def test_plan_json_holds_all_of_a_plan(small_plan):
    """Nothing a plan knows is lost on the way."""
    found = json.loads(as_json.dumps(as_json.plan(small_plan)))
    assert len(found["batches"]) == 5
    assert len(found["jobs"]) == len(small_plan.jobs)
    assert len(found["sites"]) == 10
    assert found["sites"][0] == {
        "bed": "oak plank",
        "site": 1,
        "batch": "L1",
        "crop": "lettuce-butterhead",
        "from": "2027-03-16",
        "until": "2027-04-13",
        "empty_for": 0,
    }
    assert keys_of(found["outcome"])[:8] == [
        "status",
        "seconds",
        "value",
        "bound",
        "gap",
        "short_want_weeks",
        "bound_want_weeks",
        "steady",
    ]
    assert found["assumptions"][0] == {"key": "plan.clean_days", "value": "1 day", "why": "not given"}
    assert {"warnings", "cautions", "beds", "fits", "bill", "currency", "work_days", "supply"} <= set(found)


def test_plan_json_holds_the_choices_and_the_search(show_plans):
    """Every field of the records; a chance is known to hundredths."""
    plan = show_plans.searched_plan()
    found = json.loads(as_json.dumps(as_json.plan(plan)))
    assert found["outcome"]["status"] == "searched"
    assert [choice["name"] for choice in found["choices"]] == ["sparing", "usual", "safe"]
    assert found["choices"][1] == {
        "name": "usual",
        "chosen": True,
        "cells": 11,
        "surplus_want_weeks": 0.7,
        "short_want_weeks": 1.24,
        "short_low_80": 0.3,
        "short_high_80": 2.6,
        "least_sure": 0.44,
        "least_sure_week": "2027-04-19",
        "least_sure_want": 0,
        "power_low": 20.6,
        "power_high": 24.4,
        "power": 22.5,
    }
    assert found["searched"]["gained_last"] == 0.052
    assert found["searched"]["rule"]["cells"] == 12
    assert "seconds" not in found["searched"]
    without = as_json.plan(show_plans.small_plan())
    assert (without["choices"], without["searched"]) == ([], None)


def test_json_is_the_same_each_time_and_ends_with_a_newline(small_plan, show_plans):
    """Two plans alike give the same bytes, without the noise of binary fractions."""
    shown = as_json.dumps(as_json.plan(small_plan))
    assert shown == as_json.dumps(as_json.plan(show_plans.small_plan()))
    assert shown.endswith("}\n")
    assert as_json.dumps({"x": 0.1 + 0.2}) == '{\n  "x": 0.3\n}\n'


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_json_refuses_what_is_no_number(bad):
    """JSON has no NaN (RFC 8259, section 6)."""
    with pytest.raises(ValueError, match="not JSON compliant"):
        as_json.dumps({"deep": [{"x": bad}]})

"""Before and after side by side: which figures are paired, and how they are said."""

from hypothesis import given
from hypothesis import strategies as st

from cropcal.records.values import Change
from cropcal.show.terminal.before_and_after import differences, tried

GIVEN = (Change(key="zone.shelf.photoperiod_h", before="16", now="14"),)


def bed(name: str, dli: float) -> dict:
    return {
        "bed": name,
        "zone": "shelf",
        "sd_ln": 0.2,
        "dli_mol_m2_d": {"min": dli - 1, "mean": dli, "max": dli + 1},
        "sites": [{"site": 1, "ppfd_umol_m2_s": dli * 10}],
    }


@given(st.permutations(["a", "b", "c", "d"]))
def test_the_order_of_a_list_does_not_matter(names):
    """Beds are paired by name: the same beds in another order are no change."""
    before = {"beds": [bed(name, 10.0) for name in "abcd"]}
    assert differences(before, {"beds": [bed(name, 10.0) for name in names]}) == []


def test_what_differs_is_told_what_matters_first():
    """A verdict before a mean, a mean before its ends, the sites one by one at the end."""
    before = {
        "beds": [bed("a", 10.0), bed("b", 9.0)],
        "fits": [{"crop": "basil", "bed": "a", "verdict": "ok"}],
    }
    after = {
        "beds": [bed("a", 8.0), bed("b", 9.0)],
        "fits": [{"crop": "basil", "bed": "a", "verdict": "slow"}],
    }
    assert [one.key for one in differences(before, after)] == [
        "fits[a, basil].verdict",
        "beds[a].dli_mol_m2_d.mean",
        "beds[a].dli_mol_m2_d.min",
        "beds[a].dli_mol_m2_d.max",
        "beds[a].sites[site 1].ppfd_umol_m2_s",
    ]


def test_an_item_of_one_side_is_one_row():
    """A crop that only one plan has is shown with its amount, and a dash for the other."""
    before = {"crops": []}
    after = {"crops": [{"crop": "basil", "unit": "g", "in_all": 120.0, "first_ready": "2027-03-03"}]}
    told = tried(GIVEN, differences(before, after), {"basil": "Basil"}, None)
    assert told.splitlines()[-1].split("  ")[0] == "Basil: in all"
    assert told.splitlines()[-1].split()[-3:] == ["-", "120", "g"]


def test_what_had_no_answer_before_is_told_value_by_value():
    """Where only one side has an answer, each of its values is beside a dash."""
    after = {"harvest": {"middle": "2027-03-03"}, "cuts": [{"cut": 1, "g_per_plant": 20.0}]}
    found = differences({}, after)
    assert [(one.key, one.before) for one in found] == [("harvest.middle", None), ("cuts[cut 1]", None)]
    assert [(one.key, one.after) for one in differences(after, {})] == [
        ("harvest.middle", None),
        ("cuts[cut 1]", None),
    ]


def test_equal_names_are_told_apart():
    """Two sowings of one crop on one day are two, and one more is a third."""
    job = {"date": "2027-01-05", "job": "sow", "crop": "basil", "bed": "a", "amount": 2.0, "unit": "cells"}
    found = differences({"jobs": [job, job]}, {"jobs": [job, job, job]})
    assert [one.key for one in found] == ["jobs[2027-01-05, a, sow, basil (3)]"]


def test_values_are_said_as_on_the_screens():
    """Light without decimals, money with two and its currency, days by weekday, units behind labels."""
    before = {
        "in_all": {"kwh": 100.26, "cost": 30.0},
        "harvest": {"middle": "2027-03-03"},
        "beds": [bed("a", 10.0)],
    }
    after = {
        "in_all": {"kwh": 90.0, "cost": None},
        "harvest": {"middle": "2027-03-10"},
        "beds": [bed("a", 12.0)],
    }
    lines = tried(GIVEN, differences(before, after), {}, "EUR").splitlines()
    rows = [" ".join(line.split()) for line in lines]
    assert "- zone.shelf.photoperiod_h = 14 (in the file: 16)" in rows
    assert "in all, kWh 100 90" in rows
    assert "in all, cost EUR 30.00 -" in rows
    assert "harvest, middle Wed 3 Mar Wed 10 Mar" in rows
    assert "a: DLI mol/m²/d, mean 10.0 12.0" in rows
    assert "a: site 1: PPFD µmol/m²/s 100 120" in rows


def test_what_looks_the_same_is_no_row():
    """A change that no screen would show is left to --json."""
    found = differences({"in_all": {"kwh": 100.26}}, {"in_all": {"kwh": 100.28}})
    assert len(found) == 1
    assert "It changes nothing on this screen." in tried(GIVEN, found, {}, None)


def test_a_long_table_ends():
    """Twenty rows, then how many more there are."""
    before = {"months": [{"month": f"20{year}-01", "kwh": 1.0} for year in range(27, 52)]}
    after = {"months": [{"month": f"20{year}-01", "kwh": 2.0} for year in range(27, 52)]}
    told = tried(GIVEN, differences(before, after), {}, None)
    assert sum(": kWh" in line for line in told.splitlines()) == 20
    assert told.endswith("and 5 more: --json has all\n")

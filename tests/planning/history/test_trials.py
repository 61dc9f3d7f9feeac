"""Two groups of batches held against each other: the test against print and a library, then the command."""

import json
from datetime import date, timedelta

import numpy as np
import pytest
from depth import examples
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy import stats
from typer.testing import CliRunner

from cropcal.cli.main import app
from cropcal.planning.history.batch_history import batch_histories
from cropcal.planning.history.comparison import ComparisonRequest, compare_groups
from cropcal.planning.history.observed_conditions import observed_conditions
from cropcal.planning.site.bed_light import bed_lights
from cropcal.records.journal import Entry
from cropcal.science.trials import (
    batches_needed,
    t_quantile,
    t_tail,
    welch,
)

SLEEP = (
    [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0],
    [1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4],
)
"""Hours of sleep gained: Student 1908, "The probable error of a mean", Biometrika 6:1-25 (Cushny & Peebles
1905). Welch's test of them is a usual example of texts on R: t.test(extra ~ group, data = sleep)."""


def test_a_printed_example():
    """Welch's t = 1.8608, df = 17.776, p = 0.07939, 95 % range -0.2054832 to 3.3654832, as printed by R."""
    found = welch(*SLEEP)
    assert found.difference / found.se == pytest.approx(1.8608, abs=5e-5)
    assert found.df == pytest.approx(17.776, abs=5e-4)
    assert found.p == pytest.approx(0.07939, abs=5e-6)
    assert found.range_of(0.95) == pytest.approx((-0.2054832, 3.3654832), abs=5e-7)


GROUP = st.lists(st.floats(-50, 50).map(lambda value: round(value, 2)), min_size=2, max_size=12)


@given(GROUP, GROUP)
@settings(max_examples=examples(60))
def test_welch_as_the_library_has_it(first, second):
    """Same chance and range as SciPy, whatever the groups; groups all alike have no noise."""
    assume(np.ptp(first) > 0.005 and np.ptp(second) > 0.005)
    mine, other = welch(first, second), stats.ttest_ind(second, first, equal_var=False)
    assert mine.p == pytest.approx(other.pvalue, rel=1e-9, abs=1e-12)
    ends = other.confidence_interval(0.8)
    assert mine.range_of(0.8) == pytest.approx((ends.low, ends.high), rel=1e-8, abs=1e-8)


@pytest.mark.parametrize("df", [1.0, 1.7, 4.0, 17.776, 150.0])
def test_students_t_as_the_library_has_it(df):
    """Tails and quantiles of SciPy, for few and for many degrees of freedom."""
    for t in (0.0, 0.3, 1.0, 2.5, 8.0):
        assert t_tail(t, df) == pytest.approx(stats.t.sf(t, df), rel=1e-10)
    for chance in (0.6, 0.9, 0.975, 0.999):
        assert t_quantile(chance, df) == pytest.approx(stats.t.ppf(chance, df), rel=1e-9)


def power(n, ratio):
    """Return the exact power of the two-sample t test by the noncentral t of SciPy."""
    df, shift = 2 * n - 2, ratio * np.sqrt(n / 2)
    edge = stats.t.ppf(0.975, df)
    return stats.nct.sf(edge, df, shift) + stats.nct.cdf(-edge, df, shift)


@pytest.mark.parametrize("ratio", [0.5, 0.8, 1.0, 1.5, 2.5])
def test_so_many_batches_tell_it_in_four_cases_of_five(ratio):
    """At the number of batches shown the exact power is 80 % or nearly; at two fewer it is less."""
    n = batches_needed(1.0, ratio)
    assert power(n, ratio) > 0.79
    assert n <= 3 or power(n - 2, ratio) < 0.8


def test_what_no_number_of_batches_tells():
    """No difference, or one that is lost in the noise."""
    assert batches_needed(0.2, 0.0) is None
    assert batches_needed(0.2, 0.01) is None


def test_one_value_tells_no_noise():
    """Two in each group are needed."""
    with pytest.raises(ValueError, match="two values in each group are needed, not 1 and 2"):
        welch([1.0], [1.0, 2.0])


SPACE = """
[place]
name = "Wash house"
timezone = "Europe/Paris"
[[zone]]
name = "wash house"
length_m = 1.4
width_m = 0.6
photoperiod_h = 16
air_c = 21
[[bed]]
name = "window tub"
zone = "wash house"
rows = 2
columns = 4
length_m = 0.64
width_m = 0.42
[[bed]]
name = "wall tub"
zone = "wash house"
rows = 2
columns = 4
length_m = 0.64
width_m = 0.42
[[reading]]
bed = "window tub"
umol_m2_s = [[240]]
[[reading]]
bed = "wall tub"
umol_m2_s = [[170]]
[plan]
start = 2027-01-04
weeks = 26
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
"""
FIRST = date(2027, 1, 4)
CROP = "lettuce-butterhead"


def batch(number, bed, days, g, sown=None):
    """Return the notes of one batch of four heads."""
    sown = sown or FIRST + timedelta(days=9 * number)
    about = {"batch": f"{bed[:2]}{number}", "crop": CROP, "bed": bed}
    cut = sown + timedelta(days=days)
    return [
        Entry(on=sown, event="sown", amount=4, unit="sites", **about),
        Entry(on=cut, event="harvested", amount=4, unit="heads", weight_g=4 * g if g else None, **about),
    ]


@pytest.fixture
def compare(read_text, tables):
    """Return what compares batches of a journal."""
    space = read_text(SPACE)
    lights = bed_lights(space, tables)

    def answer(entries, asked=None):
        events = sorted(entries, key=lambda entry: entry.on)
        told = batch_histories(events, {}, frozenset(), tables.crops)
        found = observed_conditions(space, lights, events)
        return compare_groups(tables.crops[CROP], tables, lights, told, found, asked or ComparisonRequest())

    return answer


def row(found, what):
    return next(one for one in found.differences if one.what == what)


def test_a_clear_difference_is_told(compare):
    """150 g against 100 g with little spread: half as heavy again, whatever the noise."""
    heavy, light = (150, 155, 145, 152), (100, 103, 97, 101)
    entries = [one for n, g in enumerate(heavy) for one in batch(n, "window tub", 45, g)]
    entries += [one for n, g in enumerate(light) for one in batch(n, "wall tub", 45, g)]
    found = compare(entries, ComparisonRequest(beds=("wall tub", "window tub")))
    weight = row(found, "weight")
    expected = np.exp(np.mean(np.log(heavy)) - np.mean(np.log(light)))
    assert weight.difference == pytest.approx(expected)
    ends = stats.ttest_ind(np.log(heavy), np.log(light), equal_var=False).confidence_interval(0.8)
    assert (weight.low_80, weight.high_80) == pytest.approx((np.exp(ends.low), np.exp(ends.high)))
    assert weight.verdict == "told"
    assert row(found, "days").verdict == "noise"


def test_light_alone_is_not_a_better_bed(compare):
    """Beds that do just what their light lets expect differ in weight, and not against the forecast."""
    probe = compare(
        [one for bed in ("window tub", "wall tub") for n in (0, 1) for one in batch(n, bed, 48, 1)]
    )
    due = {one.bed: one.g_forecast for one in probe.outcomes}
    off = (0.95, 1.04, 0.99, 1.02)
    entries = [
        one for bed in due for n, share in enumerate(off) for one in batch(n, bed, 48, share * due[bed])
    ]
    found = compare(entries)
    assert row(found, "weight").verdict == "told"
    assert row(found, "weight / forecast").verdict == "noise"
    assert row(found, "weight / forecast").difference == pytest.approx(1.0)
    assert "go by the lines against forecast" in found.notes[0]
    assert found.dli_mol_m2_d == pytest.approx((170 * 0.0576, 240 * 0.0576))  # umol x 3600 x 16 / 1e6


def test_noise_is_called_noise_and_how_many_it_takes(compare):
    """A few percent with the usual spread: more batches than anybody would guess."""
    one, other = (120, 150, 100, 135), (130, 162, 108, 146)
    entries = [e for n, g in enumerate(one) for e in batch(n, "wall tub", 45 + n, g)]
    entries += [e for n, g in enumerate(other) for e in batch(n, "window tub", 46 + n, g)]
    weight = row(compare(entries), "weight")
    assert weight.verdict == "noise"
    sd = np.sqrt((np.var(np.log(one), ddof=1) + np.var(np.log(other), ddof=1)) / 2)
    lehr = 16 * (sd / np.log(weight.difference)) ** 2
    assert weight.needed == pytest.approx(lehr, rel=0.05)


def test_before_and_since_a_day(compare):
    """Sowings from a day on are the second group, in all beds or in one."""
    entries = [e for n in range(6) for e in batch(n, "wall tub", 50 if n < 3 else 44, 120 + n)]
    since = FIRST + timedelta(days=27)
    found = compare(entries, ComparisonRequest(since=since))
    assert found.groups == ("before 31 Jan 27", "from 31 Jan 27")
    assert row(found, "days").difference == pytest.approx(-6)
    assert "nothing to compare" in compare(entries, ComparisonRequest(since=FIRST))


def test_what_is_missing_is_said(compare):
    """No batch, one bed, one batch in a bed, nobody weighed, cut early: each in words."""
    assert "no batch whose first cut is noted" in compare([])
    assert "grew in wall tub" in compare([*batch(0, "wall tub", 45, 100), *batch(1, "wall tub", 45, 100)])
    entries = [
        *batch(0, "wall tub", 45, 100),
        *batch(0, "window tub", 45, None),
        *batch(1, "window tub", 44, 90),
    ]
    found = compare(entries)
    assert found.missing[0] == "wall tub: 1 batch, and two are needed to tell a difference from chance"
    assert "window tub: 1 of 2 not weighed" in found.missing[1]
    assert "differ by 20%: the mean of 4 is good to 10%" in found.missing[-1]
    assert {one.verdict for one in found.differences} == {"too few"}
    early = [entry.model_copy(update={"early": entry.event == "harvested"}) for entry in entries]
    assert "no batch" in compare(early)


@pytest.fixture
def house(tmp_path):
    """Return a folder with a journal of three batches in either bed."""
    (tmp_path / "space.toml").write_text(SPACE, encoding="utf-8")
    lines = ["on,event,batch,crop,bed,amount,unit,weight_g"]
    for number in range(3):
        for bed, days, g in (("wall tub", 52, 130), ("window tub", 46, 150)):
            for one in batch(number, bed, days + number % 2, g + 5 * number):
                weight = "" if one.weight_g is None else f"{one.weight_g:g}"
                lines.append(f"{one.on},{one.event},{one.batch},{CROP},{bed},4,{one.unit},{weight}")
    (tmp_path / "journal.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return tmp_path


def run(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


def test_the_whole_command(house):
    """A table, JSON with the same numbers, and a picture on demand."""
    done = run("trial", house, CROP, "--all", "--out", house / "out")
    assert done.exit_code == 0, done.output
    shown = " ".join(done.stdout.split())
    assert "days 52.3 d 46.3 d -6.0 d" in shown
    assert "Welch's test (1947)" in shown
    assert (house / "out" / "trial.png").read_bytes().startswith(b"\x89PNG")
    form = json.loads(run("trial", house, CROP, "--json").stdout)
    days = form["differences"][0]
    assert (days["difference"], days["counts"], days["differs"]) == (pytest.approx(-6), [3, 3], "yes")
    assert [one["group"] for one in form["batches"]].count("wall tub") == 3


@pytest.mark.parametrize(
    ("words", "code", "message"),
    [
        (["basil"], 1, "Basil: no batch whose first cut is noted"),
        (["basl"], 2, 'CROP: found "basl", expected a crop in the table, did you mean "basil"?'),
        ([CROP, "--bed", "wall tup"], 2, '--bed: found "wall tup", expected a bed of the space'),
        ([CROP, "--since", "May"], 2, '--since: found "May", expected a date like 2027-01-06'),
        ([CROP, "--bed", "a", "--bed", "b", "--bed", "c"], 2, "--bed: found 3 beds, expected two at most"),
    ],
)  # fmt: skip
def test_what_it_cannot_answer(house, words, code, message):
    """One clear line."""
    done = run("trial", house, *words)
    assert done.exit_code == code
    assert message in done.stderr
    assert done.stdout == ""


def test_two_kinds_are_held_against_each_other(house):
    """Each by its own forecast; either kind may have any name; a kind without batches is named."""
    journal = house / "journal.csv"
    lines = journal.read_text(encoding="utf-8").splitlines()
    others = [
        line.replace(CROP, "lettuce-romaine").replace(",wa", ",ro", 1).replace("wall tub", "window tub")
        for line in lines[1:]
        if "wall tub" in line
    ]
    journal.write_text("\n".join([*lines, *others]) + "\n", encoding="utf-8")
    done = run("trial", house, "butterhead", "cos", "--json")
    assert done.exit_code == 0, done.output
    form = json.loads(done.stdout)
    assert (form["crop"], form["other_crop"]) == (CROP, "lettuce-romaine")
    assert form["groups"] == ["Butterhead lettuce", "Romaine lettuce"]
    assert form["differences"][0]["counts"] == [6, 3]
    one_bed = json.loads(run("trial", house, CROP, "cos", "--bed", "window tub", "--json").stdout)
    assert one_bed["differences"][0]["counts"][0] == 3
    assert "Romaine lettuce" in run("trial", house, CROP, "cos").stdout
    assert run("trial", house, CROP, "cos", "--since", "2027-02-01").exit_code == 2
    assert run("trial", house, CROP, CROP).exit_code == 2
    alone = run("trial", house, CROP, "batavia")
    assert alone.exit_code == 1
    assert "no batch of Batavia lettuce was cut" in alone.output

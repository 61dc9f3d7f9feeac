"""A bill that was noted: what is understood, what is said, and which causes are shown where it differs."""

import json
import re
from datetime import date
from functools import cache

import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st
from in_process import cropcal

from cropcal.planning.power.noted_bills import BillNote, held_against
from cropcal.reading.journal.bill_words import BillWords, bill_words
from cropcal.reading.journal.lines import HEADER
from cropcal.reading.text.csv_cells import Bad
from cropcal.records.journal import Entry
from cropcal.records.space import History, settings_from
from cropcal.season import bill as season_bill
from cropcal.season.opened import opened
from cropcal.show.terminal.bill import noted_bills

TODAY = date(2027, 4, 9)
SPACE = """
[place]
name = "Sorting room"
timezone = "Europe/Lisbon"

[[zone]]
name = "shelf"
length_m = 1.2
width_m = 0.6
lit = [["05:00", "19:00"]]
air_c = 21

[[bed]]
name = "channel"
zone = "shelf"
sites = 10
length_m = 1.1
width_m = 0.5

[[fixture]]
zone = "shelf"
watts = {watts}
watts_from = "{known}"

[[load]]
name = "pump"
watts = 5
always = true

{tariff}
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1

[plan]
start = 2027-01-04
weeks = 26
"""
TARIFF = """
[tariff]
currency = "EUR"
standing_per_month = 9
tax_percent = 6
[[tariff.rate]]
per_kwh = 0.25
"""


@pytest.fixture
def shelf(tmp_path, monkeypatch):
    """Return a function that writes a space with some values, and returns its folder."""
    monkeypatch.setattr("cropcal.season.clock.today", lambda: TODAY)

    def write(watts=100, known="meter", tariff=TARIFF):
        text = SPACE.format(watts=watts, known=known, tariff=tariff)
        (tmp_path / "space.toml").write_text(text, encoding="utf-8")
        return tmp_path

    return write


def log(folder, *words):
    done = cropcal("log", folder, *words)
    assert done.returncode == 0, done.stderr
    return done.stdout


def bill(folder):
    return json.loads(cropcal("bill", folder, "--json").stdout)


def month(folder, name="2027-02"):
    return next(row for row in bill(folder)["months"] if row["month"] == name)


def causes(folder, *words):
    """Return the causes shown for a bill of February."""
    log(folder, "bill", "2027-02", *words)
    return bill(folder)["noted"][0]["causes"]


def test_a_plug_meter_narrows_the_range_to_that_of_metered_watts(shelf):
    """Its counter shows 80 % of the lamp's label and the pump: the lamp is known to a few percent then."""
    folder = shelf(known="label")
    wide = month(folder)["kwh_range_80"]
    days = [f"2027-03-{day:02d} 00:00,{day * (0.8 * 1.4 + 0.12):.3f}" for day in range(1, 12)]
    (folder / "meter.csv").write_text("\n".join(["time,kwh", *days]) + "\n", encoding="utf-8")
    low, high = month(folder)["kwh_range_80"]
    assert low < 28 * (0.8 * 1.4 + 0.12) < high
    assert high - low < (wide[1] - wide[0]) / 5


@cache
def space_of(folder, known, tariff):
    """Return the space of such a file."""
    file = folder / "shelf.toml"
    file.write_text(SPACE.format(watts=100, known=known, tariff=tariff), encoding="utf-8")
    return opened(file).ready()


def test_a_bill_is_noted_by_one_line_and_held_against_the_computed_one(shelf):
    """1.4 kWh a day of lamp and 0.12 of pump over 28 days: 42.56 kWh, 10.64 + 9 EUR, and 6 %."""
    folder = shelf()
    said = log(folder, "bill", "2027-02", "20.70")
    assert "Noted: bill for Feb 2027, 20.70 EUR." in said
    assert "Feb 2027: 20.70 EUR on the bill; 20.82 EUR computed (20-21), they agree." in said
    noted = bill(folder)["noted"][0]
    assert noted["computed"]["kwh"] == pytest.approx(42.56, abs=0.001)
    assert noted["computed"]["cost"] == pytest.approx((42.56 * 0.25 + 9) * 1.06, abs=0.001)
    assert noted["causes"] == []
    screen = cropcal("bill", folder, "--all").stdout
    assert "Against the bills you noted" in screen
    assert "they agree" in screen


@pytest.mark.parametrize(
    "words",
    [
        "2027-02 41.30",
        "41.30 2027-02",
        "Feb 41.30",
        "feb 41,30",
        "February 2027 41.30 EUR",
        "41.30 EUR for 2/2027",
        "2027/02: €41.30",
        "2027-02-28 41.30€",
        "the bill of Feb was 41.30 eur",
        "Feb. 2027 eur41.30",
    ],
)
def test_words_and_order_are_free(shelf, words):
    folder = shelf()
    assert "bill for Feb 2027, 41.30 EUR." in log(folder, "bill", *words.split())


def test_kwh_may_stand_beside_the_sum_or_alone(shelf):
    folder = shelf()
    assert "41.30 EUR, 180 kWh" in log(folder, "bill", "2027-02", "41.30", "--kwh", "180")
    assert "41.30 EUR, 180 kWh" in log(folder, "bill", "2027-02", "41.30", "180", "kWh")
    assert "bill for Mar 2027, 43.5 kWh." in log(folder, "bill", "mar", "43,5", "kwh")
    assert "30.00 EUR, 44 kWh" in log(folder, "bill", "last month", "30", "--kwh", "44 kWh")


def test_a_month_that_is_not_over_counts_up_to_today(shelf):
    folder = shelf()
    assert "bill for Apr 2027, to 9, 6 EUR" in log(folder, "bill", "april", "6").replace("6.00", "6")
    noted = bill(folder)["noted"][0]
    assert (noted["from"], noted["until"]) == ("2027-04-01", "2027-04-09")
    assert noted["computed"]["kwh"] == pytest.approx(9 * 1.52, abs=0.001)


def test_only_days_on_which_the_space_was_in_use_are_computed(shelf):
    """It began on 4 January; before that there is nothing to hold a bill against."""
    folder = shelf()
    log(folder, "bill", "2027-01", "19")
    assert bill(folder)["noted"][0]["computed"]["kwh"] == pytest.approx(28 * 1.52, abs=0.001)
    said = " ".join(log(folder, "bill", "2026-12", "19").split())
    assert "the plan has no bill for that time to compare it with" in said


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("2027-05 41.30", "a month that has begun"),
        ("2027-13 41.30", "there are twelve months"),
        ("41.30", "the month of the bill"),
        ("febtober 41.30", "the month of the bill"),
        ("2027-02", "what the bill came to"),
        ("2027-02 0", "an amount of money above 0"),
        ("2027-02 -- -4", "an amount of money above 0"),
        ("2027-02 41.30 USD", "money is in EUR here"),
        ("2027-02 1,240", "is it 1240 or 1.240"),
        ("2027-02 41.30 12", "one sum"),
        ("febuary 41.30", 'did you mean "february"'),
        ("feb forty", 'leave out "forty"'),
        ("2027-02 41.30 --site 3", "a bill is for the whole space"),
        ("2027-02 41.30 --kwh much", "the energy that the bill counts"),
        ("2027-02 41.30 --zone shelf", "a bill is for the whole space"),
        ("2027-02 41.30 --on 2027-03-03", "a day of that month"),
    ],
)
def test_what_is_not_understood_is_refused_in_one_line(shelf, words, found):
    folder = shelf()
    done = cropcal("log", folder, "bill", *words.split())
    assert done.returncode == 2
    assert found in done.stderr
    assert not (folder / "journal.csv").exists()


def test_a_bill_of_the_whole_home_is_doubted_and_kept(shelf):
    folder = shelf()
    said = " ".join(log(folder, "bill", "2027-02", "213").split())
    assert "Is it for this space alone?" in said
    noted = bill(folder)["noted"][0]
    assert noted["amount"] == 213
    assert noted["causes"][0].startswith("the bill of the whole home")


def test_without_a_tariff_the_sum_is_kept_and_energy_is_compared(shelf):
    folder = shelf(tariff="")
    assert "has no [tariff]" in log(folder, "bill", "2027-02", "41.30")
    assert "42.6 kWh on the bill; 43 kWh computed (41-44), they agree" in log(
        folder, "bill", "feb", "42.6", "kWh"
    )


def test_it_is_corrected_and_taken_back_like_any_note(shelf):
    folder = shelf()
    name = re.search(r"--undo (\w+)", log(folder, "bill", "2027-02", "14.30"))[1]
    assert "bill for Feb 2027, 41.30 EUR." in log(folder, "--correct", name, "41.30")
    assert "bill for Feb 2027, 41.30 EUR, 80 kWh." in log(folder, "--correct", name, "--kwh", "80")
    assert "bill for Mar 2027, 41.30 EUR, 80 kWh." in log(folder, "--correct", name, "bill", "2027-03")
    (noted,) = bill(folder)["noted"]
    assert (noted["month"], noted["amount"], noted["kwh"], noted["instead_of"]) == ("2027-03", 41.3, 80, [])
    assert "Taken back: bill for Mar 2027" in log(folder, "--undo")


def test_of_two_bills_for_a_month_the_last_counts_and_it_says_so(shelf):
    folder = shelf()
    first = re.search(r"--undo (\w+)", log(folder, "bill", "2027-02", "14.30"))[1]
    assert f"It replaces {first}" in " ".join(log(folder, "bill", "2027-02", "21").split())
    (noted,) = bill(folder)["noted"]
    assert (noted["amount"], noted["instead_of"]) == (21, [first])


def test_an_older_journal_needs_the_new_column_only_for_kwh(shelf):
    folder = shelf()
    log(folder, "bill", "2027-02", "21")
    journal = folder / "journal.csv"
    journal.write_text(HEADER.replace(",kwh", "") + "\n", encoding="utf-8")
    log(folder, "bill", "2027-02", "21")
    done = cropcal("log", folder, "bill", "2027-03", "21", "--kwh", "44")
    assert done.returncode == 2
    assert 'add "kwh" as a last word of the first line' in done.stderr


def test_a_bill_typed_into_the_file_by_hand_counts_as_well(shelf):
    folder = shelf()
    (folder / "journal.csv").write_text("on,event,amount,unit\n2027-02-28,bill,20.70,EUR\n", encoding="utf-8")
    assert bill(folder)["noted"][0]["causes"] == []


def test_lamps_that_draw_half_their_label(shelf):
    """Built with 100 W on the label and 50 W at the wall: 50 % of the label, from money and from energy."""
    drawn = month(shelf(50))
    labelled = shelf(known="label")
    for words in ((f"{drawn['cost']:.2f}",), (f"{drawn['cost']:.2f}", "--kwh", f"{drawn['kwh']:.2f}")):
        assert any("lamps that draw 50% of theirs" in cause for cause in causes(labelled, *words)[:2])


@pytest.mark.parametrize("hours", [19, 24, 9])
def test_a_timer_that_is_on_other_hours(shelf, hours):
    """Built with watts of a meter, 14 h in the file and other hours in truth."""
    there = 28 * (0.1 * hours + 0.12)
    folder = shelf()
    expected = f"its lamp on {hours:.1f} h a day in place of 14 h"
    for words in ((f"{(there * 0.25 + 9) * 1.06:.2f}",), ("--kwh", f"{there:.2f}")):
        assert any(expected in cause for cause in causes(folder, *words)[:2])


def test_another_price(shelf):
    """Built with 0.31 in place of 0.25 a kWh: with its energy noted, only the price is in question."""
    shown = causes(shelf(), f"{(42.56 * 0.31 + 9) * 1.06:.2f}", "--kwh", "42.6")
    assert "the price of a kWh: 24% more than space.toml has" in shown[:2]


def test_a_standing_charge_that_is_not_on_the_bill(shelf):
    folder = shelf()
    for more in ((), ("--kwh", "42.6")):
        shown = causes(folder, f"{42.56 * 0.25 * 1.06:.2f}", *more)
        assert "the bill is without the standing charge of space.toml" in shown[0]


def test_a_standing_charge_and_a_tax_that_the_file_leaves_out(shelf):
    folder = shelf(tariff=TARIFF.replace("standing_per_month = 9\ntax_percent = 6\n", ""))
    shown = causes(folder, f"{42.56 * 0.25 + 9:.2f}", "--kwh", "42.56")
    assert any("a standing charge of 9.00" in cause for cause in shown[:2])
    shown = causes(folder, f"{42.56 * 0.25 * 1.19:.2f}", "--kwh", "42.56")
    assert any("a tax of 19%" in cause for cause in shown[:2])


def test_a_load_that_nobody_wrote_down(shelf):
    shown = causes(shelf(), "--kwh", f"{42.56 + 28 * 0.24 * 2:.2f}")
    assert any("a load that is not in the file: 20 W day and night" in cause for cause in shown[:2])


def test_what_was_learned_names_the_likeliest_cause(shelf):
    folder = shelf()
    assert "What the bills point to" not in cropcal("learned", folder).stdout
    log(folder, "bill", "2027-02", "20.70")
    assert "What the bills point to" not in cropcal("learned", folder).stdout
    log(folder, "bill", "2027-03", "27")
    said = " ".join(cropcal("learned", folder).stdout.split())
    assert "- Mar 2027: 27.00 EUR on the bill; 22.03 EUR computed (22-23)" in said
    assert "the bill is 4.97 EUR higher." in said
    assert "Likeliest: the timer of shelf" in said
    assert len(json.loads(cropcal("learned", folder, "--json").stdout)["bills"]) == 2


def test_only_the_last_bill_that_differs_shows_all_its_causes(shelf):
    """Those before it have one line with the likeliest, however many there are."""
    folder = shelf()
    for words in ("2027-01 27", "2027-02 20.70", "2027-03 30"):
        log(folder, "bill", *words.split())
    screen = " ".join(cropcal("bill", folder, "--all").stdout.split())
    assert screen.count("One of these alone would explain it") == 1
    assert screen.count("Likeliest: ") == 1
    assert "A bill noted with its kWh (--kwh) shows whether use or price is off." in screen


def test_a_bill_below_all_that_is_possible_is_asked_about(shelf):
    assert "is it of another month" in causes(shelf(), "3")[0]


def test_the_range_narrows_when_watts_are_read_off_a_meter(shelf):
    """One figure for both: the range of kWh by label holds that by meter."""
    metered, labelled = month(shelf()), month(shelf(known="label"))
    low, high = metered["kwh_range_80"]
    wide_low, wide_high = labelled["kwh_range_80"]
    assert wide_low < low < metered["kwh"] < high < wide_high
    assert (wide_high - wide_low) > 5 * (high - low)


def test_a_bill_goes_by_the_lamp_that_hung_there_then(tmp_path):
    """Half the watts until 10 March: February is computed with them, April with those of today."""
    new = space_of(tmp_path, "meter", TARIFF)
    lamp = new.fixtures[0].model_copy(update={"watts": 50.0})
    old = settings_from(new.model_copy(update={"fixtures": (lamp,)}), None)
    now = settings_from(new, date(2027, 3, 10))
    space = new.model_copy(update={"history": History(held=(old, now), now=now)})
    notes = [Entry(on=date(2027, month, 28), event="bill", kwh=40, id=str(month)) for month in (2, 4)]
    february, april = season_bill.noted_bills(space, notes, {})
    assert february.computed.kwh == pytest.approx(28 * (0.05 * 14 + 0.12), abs=0.001)
    assert april.computed.kwh == pytest.approx(28 * 1.52, abs=0.001)


@settings(max_examples=examples(25))
@given(share=st.floats(0, 1), known=st.sampled_from(["meter", "label"]))
def test_a_bill_inside_its_range_has_no_cause(tmp_path_factory, share, known):
    """Wherever it lies between the ends of the computed range."""
    space = space_of(tmp_path_factory.getbasetemp(), known, TARIFF)
    note = BillNote(Entry(on=date(2027, 2, 28), event="bill", amount=1.0, unit="EUR", id="x"), ())
    found = held_against(space, note, date(2027, 1, 4))
    amount = found.cost_low + share * (found.cost_high - found.cost_low)
    inside = BillNote(note.entry.model_copy(update={"amount": amount}), ())
    assert held_against(space, inside, date(2027, 1, 4)).causes == ()


@settings(max_examples=examples(200))
@given(
    text=st.text(max_size=30)
    | st.from_regex(r"[0-9a-f€$ .,/-]{0,20}(kWh|EUR|feb|last month)?", fullmatch=True)
)
def test_no_text_breaks_the_reading_of_a_bill(text):
    """It is understood, or one line says what was expected."""
    for currency in ("EUR", None):
        assert isinstance(bill_words(text, TODAY, currency), BillWords | Bad)


@pytest.mark.parametrize(
    ("known", "words", "pattern", "sets"),
    [
        ("label", "15", r"lamps that draw (\d+)%", "fixture.watts={0}"),
        ("meter", "17", r"its lamp on ([\d.]+) h a day", "zone.shelf.photoperiod_h={0}"),
        ("meter", "26", r"its lamp on ([\d.]+) h a day", "zone.shelf.photoperiod_h={0}"),
        ("meter", "26 --kwh 42.6", r"a kWh: (\d+)% more", "tariff.rate.per_kwh={price}"),
        ("meter", "24", r"not in the file: (\d+) W", "load.pump.watts={more}"),
    ],
)
def test_what_a_cause_says_explains_the_bill(shelf, known, words, pattern, sets):
    """With the value of the cause tried by --set, the computed bill is the noted one."""
    folder = shelf(known=known)
    shown = causes(folder, *words.split())
    found = next(found for cause in shown if (found := re.search(pattern, cause)))
    number = float(found[1])
    option = sets.format(found[1], price=0.25 * (1 + number / 100), more=5 + number)
    there = json.loads(cropcal("bill", folder, "--set", option, "--json").stdout)
    computed = next(row for row in there["months"] if row["month"] == "2027-02")
    assert computed["cost"] == pytest.approx(float(words.split()[0]), rel=0.01)


@settings(max_examples=examples(30))
@given(
    amount=st.floats(0.01, 3000),
    kwh=st.none() | st.floats(0.01, 5000),
    known=st.sampled_from(["meter", "label"]),
    tariff=st.sampled_from([TARIFF, "", TARIFF.replace("per_kwh = 0.25", "per_kwh = 0.0")]),
    on=st.dates(date(2027, 1, 1), date(2027, 4, 9)),
)
def test_any_bill_is_held_against_the_space(tmp_path_factory, amount, kwh, known, tariff, on):
    """Whatever it came to, there are at most four causes of use and four of price, each said once."""
    space = space_of(tmp_path_factory.getbasetemp(), known, tariff)
    entry = Entry(on=on, event="bill", amount=amount, kwh=kwh, unit="EUR", id="x")
    found = held_against(space, BillNote(entry, ()), date(2027, 1, 4), {"shelf": [date(2027, 2, 3)]})
    agrees = found.cost_low is None or found.cost_low <= amount <= found.cost_high
    if found.computed and kwh is None:
        assert bool(found.causes) != agrees
    assert len(found.causes) == len(set(found.causes)) <= 8
    assert noted_bills([found], "EUR").startswith(f"{on:%b %Y}")

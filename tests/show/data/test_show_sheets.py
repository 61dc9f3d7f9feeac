"""The CSV files of a plan."""

import csv
import io
from datetime import date

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from cropcal.records.hours import CLOCK, LAMP_ON, SetPoint, TimerLine
from cropcal.records.plan import SeedOrder
from cropcal.show.data import csv_sheets as sheets
from cropcal.spreadsheets import as_typed

HEADERS = {
    "sowings.csv": "batch,crop,bed,sow_on,seeds,cells,sites,held_sites,emerge_on,transplant_on,ready_from,"
    "ready_until,clear_on,amount,amount_low_80,amount_high_80,unit",
    "jobs.csv": "date,job,batch,crop,bed,sites,amount,unit,note,eat_by,likely_from,likely_until",
    "supply.csv": "week,want,wanted,ready,short,over,unit,chance",
    "sites.csv": "bed,site,batch,crop,from,until,empty_for",
    "bill.csv": "month,what,zone,rate,kwh,cost",
    "seeds.csv": "crop,order_by,seeds,plugs,on_hand,note",
    "timers.csv": "zone,from,on,off,output",
    "setpoints.csv": "zone,what,value,unit,from,note",
}


@pytest.fixture
def files(small_plan):
    timers = [TimerLine(zone="shelf", start=date(2027, 3, 1), on=17 * 60, off=9 * 60, output=1.0)]
    order = SeedOrder(
        crop="basil-sweet", order_by=date(2027, 2, 16), sow_from=date(2027, 3, 2), sow_until=date(2027, 3, 9),
        seeds=12, plugs=4, weight_g=0.018,
    )  # fmt: skip
    points = (
        SetPoint(zone="shelf", what=LAMP_ON, value="17:00", unit=CLOCK, start=date(2027, 3, 1)),
        SetPoint(zone="", what="pump every", value=90.0, unit="min", note="as space.toml has it"),
    )
    return sheets.sheets(small_plan, timers, (order,), points)


def rows_of(shown):
    return list(csv.DictReader(io.StringIO(shown)))


def test_every_file_begins_with_its_header(files):
    """Names and headers are what other programs rely on; lines end in a plain newline."""
    assert {name: shown.split("\n")[0] for name, shown in files.items()} == HEADERS
    assert all(shown.endswith("\n") and "\r" not in shown for shown in files.values())


def test_an_empty_plan_still_has_headers(show_plans):
    """A program that reads the files need not ask whether there are any."""
    assert {name: shown.strip() for name, shown in sheets.sheets(show_plans.empty_plan()).items()} == HEADERS


def test_sowings_add_up_all_cuts(files):
    """Basil is cut twice: 46.25 + 61.5 g, between 37 + 48 and 56.5 + 77 g."""
    basil = rows_of(files["sowings.csv"])[1]
    assert [basil[key] for key in ("amount", "amount_low_80", "amount_high_80")] == ["107.75", "85", "133.5"]
    assert [basil[key] for key in ("sow_on", "transplant_on", "cells")] == ["2027-03-02", "", "0"]


def test_seeds_are_one_row_an_order(files):
    """What to buy, by when, how many seeds and plugs."""
    assert rows_of(files["seeds.csv"]) == [
        {
            "crop": "basil-sweet",
            "order_by": "2027-02-16",
            "seeds": "12",
            "plugs": "4",
            "on_hand": "0",
            "note": "",
        }
    ]


def test_numbers_are_plain(files):
    """No 12.0, no 0.30000000000000004, at most three decimals."""
    assert "2027-03-01,lettuce-butterhead,2,0,0,0,heads," in files["supply.csv"].split("\n")
    assert "2027-03,air stone,,day,1.488,0.417" in files["bill.csv"].split("\n")
    assert files["timers.csv"].split("\n")[1] == "shelf,2027-03-01,17:00,09:00,1"
    assert files["setpoints.csv"].split("\n")[1:3] == [
        "shelf,lamp on,17:00,h:min,2027-03-01,",
        ",pump every,90,min,,as space.toml has it",
    ]


@pytest.mark.parametrize("start", list("=+-@＝＋－＠"))
def test_a_name_cannot_become_a_formula(small_plan, start):
    """The signs that the OWASP page on CSV injection lists get an apostrophe in front."""
    job = small_plan.jobs[0].model_copy(update={"bed": f'{start}HYPERLINK("x")'})
    shown = sheets.jobs(small_plan.model_copy(update={"jobs": (job,)}))
    read = list(csv.reader(io.StringIO(shown, newline="")))
    assert read[1][4] == f'\'{start}HYPERLINK("x")'


FORMULA_SIGNS = "=+-@\uff1d\uff0b\uff0d\uff20"


@given(note=st.text(st.characters(codec="utf-8", exclude_categories=("C", "Zl", "Zp")), max_size=40))
@example(note='6", "deep"; ½ µmol')
@example(note=";=")
def test_any_text_comes_back_as_it_was(show_plans, note):
    """Commas and quotes survive a round trip; only a formula gets its apostrophe."""
    plan = show_plans.small_plan()
    job = plan.jobs[0].model_copy(update={"note": note})
    shown = sheets.jobs(plan.model_copy(update={"jobs": (job,)}))
    back = list(csv.reader(io.StringIO(shown, newline="")))[1][8]
    assert as_typed(back) == note
    assert back == note or any(sign in note for sign in FORMULA_SIGNS)
    assert not back.startswith(("=", "+", "-", "@"))


@pytest.mark.parametrize("sign", list("\t\r\n\0\x1b"))
def test_a_control_sign_breaks_no_row(small_plan, sign):
    """A line break or tab in a name (OWASP lists them too) becomes a blank, so that a row stays a line."""
    job = small_plan.jobs[0].model_copy(update={"bed": f"{sign}a{sign}b"})
    shown = sheets.jobs(small_plan.model_copy(update={"jobs": (job,)}))
    assert shown.count("\n") == 2
    assert shown.split("\n")[1].split(",")[4] == " a b"

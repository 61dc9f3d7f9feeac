"""What the commands print, from a plan written by hand."""

from datetime import date

import pytest

from cropcal.problems import Problem, Where
from cropcal.records.forecast import CutForecast, Days80, Forecast, Range80
from cropcal.records.plan import Job
from cropcal.show import text, wording
from cropcal.show.terminal import basics as screens
from cropcal.show.terminal import bill as bill_screen
from cropcal.show.terminal import light as light_screen
from cropcal.show.terminal import plan as plan_screens

PERIOD = (date(2027, 3, 1), date(2027, 4, 25))


@pytest.fixture
def forecast():
    def days(month, day):
        return Days80(
            low=date(2027, month, day - 3), middle=date(2027, month, day), high=date(2027, month, day + 4)
        )

    grams = Range80(low=21.0, middle=30.4, high=44.0)
    return Forecast(
        crop="basil-sweet",
        bed="tin tub",
        nursery=None,
        sown=date(2027, 3, 2),
        emergence=days(3, 9),
        transplant=None,
        ready=days(4, 9),
        ready_until=date(2027, 4, 25),
        g_per_plant=grams,
        g_per_site=grams,
        cuts=(
            CutForecast(cut=1, ready=days(4, 9), g_per_plant=grams),
            CutForecast(cut=2, ready=days(4, 23), g_per_plant=grams),
        ),
        assumptions=(),
        warnings=("The air is warm for basil seed.",),
    )


@pytest.fixture
def all_screens(show_plans, small_plan, names, forecast):
    """Return every screen there is, by name."""
    crops = {slug: show_plans.crop(slug, name) for slug, name in names.items()}
    return {
        "check": screens.check((), "space.toml"),
        "crops": screens.crops(crops, small_plan.fits),
        "light": light_screen.light(small_plan.lights, small_plan.fits, names),
        "bill": bill_screen.bill(
            small_plan.bill, small_plan.unit_costs, "EUR", names, PERIOD, year=small_plan.bill
        ),
        "when": screens.when(forecast, names),
        "plan": plan_screens.plan(small_plan, names, "out", ("sowings.csv",), "cropcal week"),
        "empty plan": plan_screens.plan(show_plans.empty_plan(), names),
    }


def test_every_screen_fits_80_columns_and_ends_with_a_newline(all_screens):
    """Nothing is cut off by a plain terminal, and no line ends in blanks."""
    for name, shown in all_screens.items():
        assert shown.endswith("\n"), name
        for line in shown.split("\n"):
            assert text.display_width(line) <= 80, (name, line)
            assert line == line.rstrip(), (name, line)


def test_no_screen_speaks_python(all_screens):
    """None, nan and braces of records never reach a user."""
    for shown in all_screens.values():
        assert not any(word in shown for word in ("None", "nan", "{", "}", "datetime"))


def test_check_shows_each_problem_on_one_line():
    """A problem is file, line, key, what was found and expected; a trick in a name stays on its line."""
    problem = Problem(
        Where("space.toml", 4), "bed[1].zone", '"to\np"', "a zone of this file", 'did you mean "top"?'
    )
    assert screens.check((problem,), "space.toml") == (
        'space.toml:4: bed[1].zone: found "to p", expected a zone of this file, did you mean "top"?\n'
        "1 mistake found\n"
    )
    clean = "space.toml: no mistakes found\n"
    assert screens.check((), "space.toml") == clean + "\nNext, type: cropcal light space.toml\n"
    assert screens.check((), "space.toml", tried=True) == clean


def test_the_crop_table_keeps_slugs_whole_and_says_what_is_unknown(show_plans):
    """A slug is there to be typed again; an unknown day limit is a question mark."""
    crops = {
        slug: show_plans.crop(slug, "A leaf with a rather long name indeed", photoperiod_max_h=limit)
        for slug, limit in (("lettuce-with-a-long-slug", None), ("short", 14.0))
    }
    lines = screens.crops(crops).split("\n")
    assert lines[2].startswith("lettuce-with-a-long-slug  ")
    assert lines[2].split()[-2:] == ["?", "5/8"]
    assert lines[3].split()[-3:] == ["14", "h", "5/8"]


def test_light_shows_ppfd_dli_and_the_cure(all_screens):
    """180 to 228 umol for 16 h is 10.4 to 13.1 mol (Gavhane et al. 2023: 200 umol, 16 h, 11.52 mol)."""
    shown = all_screens["light"]
    assert "180/200/228" in shown
    assert "10.4/11.5/13.1" in shown
    assert "90%  watts" in shown
    assert "cure: hang the lamp lower, or light it 20 h" in shown


def test_the_bill_adds_up(all_screens):
    """Sums added by hand: March 47.238 kWh and 20.82, April 37.2 kWh and 16.60; by use, and by price."""
    lines = [line.split() for line in all_screens["bill"].split("\n")]
    assert ["Mar", "2027", "47", "20.82"] in lines
    assert ["Apr", "2027,", "to", "25", "37", "16.60"] in lines
    assert ["in", "all", "84", "37.42"] in lines
    assert ["air", "stone", "2.7", "0.75"] in lines
    assert ["standing", "charge", "16.80"] in lines
    assert lines.index(["night", "28", "4.67"]) + 1 == lines.index(["day", "57", "15.94"])
    assert "Twelve months take 84 kWh and cost 37.42 EUR." in all_screens["bill"]
    assert ["Sweet", "basil", "tin", "tub", "100", "g", "4.21", "1.10"] in lines


def test_a_bill_without_tariff_has_no_money(small_plan, names):
    """Energy can be known where the price is not."""
    lines = [line.model_copy(update={"cost": None}) for line in small_plan.bill]
    shown = bill_screen.bill(lines, (), None, names, PERIOD)
    assert "No tariff is given" in shown
    priced = bill_screen.bill(small_plan.bill, (), None, names, PERIOD)
    assert "No tariff" not in priced
    assert "20.82" in priced
    assert "EUR" not in shown
    assert bill_screen.bill((), (), None, names, PERIOD) == "Nothing here draws power, so there is no bill.\n"


def test_when_gives_ranges_and_cuts(all_screens):
    """Every date and mass has its range."""
    shown = all_screens["when"]
    assert "Fri 9 Apr (6-13 Apr), cut by Sun 25 Apr" in shown
    assert "30 g (21-44 g)" in shown
    assert "  2  Fri 23 Apr  20-27 Apr" in shown
    assert "- The air is warm for basil seed." in shown


def test_a_plan_begins_with_what_can_be_eaten_and_when(all_screens):
    """The headline counts short weeks of wants with a number; the first table is food, by its first day."""
    lines = all_screens["plan"].split("\n")
    assert lines[0] == "Copper Beech cellar: 8 weeks from Mon 1 Mar 2027"
    assert lines[1] == "1 of 3 weekly targets are met; 2 fall short."
    assert lines[3] == "What you can eat, and when"
    assert " ".join(lines[6].split()) == "Butterhead lettuce Tue 6 Apr 3-11 Apr Tue 20 Apr 4 heads"


def test_a_plan_lists_everything_that_should_be_known(all_screens):
    """Shortages, steady supply, the forecast, jobs, power, warnings, cautions, files, next step."""
    shown = all_screens["plan"]
    for part in (
        "12-18 Apr  Butterhead lettuce       2             1  about 1 in 10",
        "Butterhead lettuce  2 heads    1.3 heads    2.4 heads",
        "This plan misses 2 weeks; any plan misses at least 2.",
        "  Sow Butterhead lettuce L1: 5 seeds, seed drawer, 4 cells",
        "- Sweet basil gets half the light",
        "licensed electrician",
        "- plan.clean_days: 1 day (not given)",
        "Written to out\n  sowings.csv",
        "Next, type: cropcal week\n",
    ):
        assert part in shown
    assert ["in", "all", "84", "37.42"] in [line.split() for line in shown.split("\n")]


def test_many_short_weeks_are_cut_short(show_plans):
    """A summary stays a summary; the file has the rest."""
    plan, names = show_plans.random_plan(sites=5, weeks=30, crops=2, beds=1)
    fits = {want.want for want in plan.outcome.steady if want.wanted_per_week is None}
    weeks = [row for row in plan.supply if row.counted and row.want not in fits]
    short = sum(row.chance is not None and row.chance < 0.5 for row in weeks)
    assert short > 8
    shown = plan_screens.plan(plan, names)
    assert f"and {short - 8} more: see supply.csv" in shown


def test_a_part_of_a_month_is_called_a_part(small_plan):
    """Half a month's bill is not mistaken for a cheap month."""
    shown = bill_screen.months(small_plan.bill, "EUR", (date(2027, 3, 4), date(2027, 4, 25)))
    assert "Mar 2027, from 4 " in shown
    assert "Apr 2027, to 25 " in shown


def test_a_day_of_many_jobs_has_a_title_that_ends():
    """Equal jobs are added up, and after six parts the rest is counted."""

    def job(crop, amount, name="sow"):
        return Job(
            on=date(2027, 3, 2),
            job=name,
            batch="",
            crop=crop,
            bed="",
            sites="",
            amount=amount,
            unit="cells",
            note="",
        )

    jobs = [job("a", 2.0), job("a", 3.0), job("b", 4.0), job("b", 1.0, "transplant")]
    assert wording.title(jobs, {"a": "Cress"}) == "Sow 5 Cress and 4 b, transplant 1 b"
    many = [job(f"crop {number}", 1.0) for number in range(9)]
    assert wording.title(many, {}).endswith("1 crop 4 and 1 crop 5 and 3 more")


def test_sites_are_said_as_words():
    """One site, several sites, or a text that says it itself."""
    assert wording.sites("4") == "site 4"
    assert wording.sites("1-4, 6") == "sites 1-4, 6"
    assert wording.sites("the whole tray") == "the whole tray"

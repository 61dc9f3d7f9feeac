"""The week as a checklist for one phone screen, and what it says to look at."""

from datetime import date, timedelta

import pytest

from cropcal.planning.schedule.scouting import scouting_list
from cropcal.records.journal import Entry
from cropcal.records.week import Look, Week
from cropcal.show import text
from cropcal.show.data import week_json
from cropcal.show.terminal import week as week_screen

ON = date(2027, 3, 4)


def log(words):
    return f"cropcal log {words}"


def week_of(plan, on=ON, **changes):
    until = plan.start + timedelta(days=7 * plan.weeks - 1)
    return Week(place=plan.place, on=on, start=plan.start, until=until, jobs=plan.jobs, **changes)


def screen(plan, names, on=ON, **changes):
    return week_screen.week(week_of(plan, on, **changes), names, log, "cropcal plan")


def test_a_week_is_a_checklist(small_plan, names):
    """By day, then by kind of job; one box and the batch id a job; what comes next; how to note it."""
    assert screen(small_plan, names) == (
        "Copper Beech cellar\n"
        "Week 1-7 Mar 2027\n"
        "\n"
        "Tue 2 Mar\n"
        "Sow\n"
        "[ ] L1 Butterhead lettuce\n"
        "    5 seeds, seed drawer, 4 cells\n"
        "[ ] B1 Sweet basil\n"
        "    6 seeds, tin tub, sites 1-2, 3 seeds\n"
        "    a site, thin to the best\n"
        "Chores\n"
        "[ ] Change the solution\n"
        "\n"
        "Fri 5 Mar\n"
        "Sow\n"
        "[ ] P1 Pak choi\n"
        "    3 seeds, seed drawer, 2 cells\n"
        "\n"
        "Next after this: Tue 9 Mar\n"
        "  Sow 8 Coriander\n"
        "\n"
        "Done? Note it: cropcal log sown L1\n"
    )


def test_every_week_is_narrow(show_plans):
    """No line of any week of a full year is wider than 40 columns, whatever the names."""
    crops = {f"crop-{number}": "Grüner Kopfsalat der langen Reihe 🥬 白菜 " * number for number in (1, 2)}
    plan, names = show_plans.random_plan(sites=40, weeks=20, names=crops)
    for start in range(0, 20, 3):
        shown = screen(plan, names, plan.start + timedelta(weeks=start))
        assert shown.endswith("\n")
        for line in shown.split("\n"):
            assert text.display_width(line) <= 40, line
            assert line == line.rstrip()


def test_kinds_come_in_the_order_of_work(small_plan, names):
    """Cutting frees the sites that are planted next, so it comes before sowing, however jobs are listed."""
    day = date(2027, 3, 4)
    kinds = ("chore", "sow", "transplant", "thin", "clear", "cut")
    jobs = tuple(small_plan.jobs[0].model_copy(update={"on": day, "job": kind}) for kind in kinds)
    shown = screen(small_plan.model_copy(update={"jobs": jobs}), names)
    heads = [line for line in shown.split("\n") if line in week_screen.HEADINGS.values()]
    assert heads == ["Cut", "Clear", "Thin", "Transplant", "Sow", "Chores"]


def test_what_holds_for_all_is_said_once(small_plan, names):
    """Two cuts with clean hands: the heading says it, each line the rest."""
    cuts = [job for job in small_plan.jobs if job.job == "cut"][:2]
    notes = ("cut 1, leave the tips; wash hands", "wash hands")
    jobs = tuple(
        job.model_copy(update={"on": ON, "note": note}) for job, note in zip(cuts, notes, strict=True)
    )
    shown = screen(small_plan.model_copy(update={"jobs": jobs}), names)
    assert "Cut: wash hands\n" in shown
    assert shown.count("wash hands") == 1
    assert "cut 1, leave the tips" in " ".join(shown.split())


def test_overdue_jobs_come_first(small_plan, names):
    """Overdue jobs come before the days, each with its day, and the first is the one to note."""
    shown = screen(small_plan, names, on=date(2027, 3, 16), overdue=small_plan.jobs[:1])
    assert shown.index("Overdue") < shown.index("was due Tue 2 Mar") < shown.index("Tue 16 Mar")
    assert "cropcal log sown L1" in shown


@pytest.mark.parametrize(
    ("on", "said"),
    [
        (date(2027, 3, 25), "Nothing to do this week. Next after this: Tue 30 Mar Transplant 1 Butterhead"),
        (date(2027, 2, 20), "This plan begins on Mon 1 Mar 2027: nothing to do yet. First jobs: Tue 2 Mar"),
        (date(2027, 6, 1), "This plan ended on Sun 25 Apr 2027. To continue from here, type: cropcal plan"),
    ],
)
def test_an_empty_week_says_what_comes_next(small_plan, names, on, said):
    """Idle, before the plan, after it: the next day with jobs, or what to type."""
    shown = " ".join(screen(small_plan, names, on).split())
    assert said in shown
    assert "[ ]" not in shown
    assert ("type: cropcal plan" in shown) == (on.month == 6)


def test_a_plan_without_jobs_says_so(show_plans, names):
    """An empty plan sends one back to the plan, which says why."""
    shown = screen(show_plans.empty_plan(), names, show_plans.empty_plan().start)
    assert "The plan has no jobs" in shown


def test_the_form_keeps_its_keys(small_plan, names):
    """The contract's keys of each job, then the note and how to log it; the next day with jobs."""
    form = week_json.week(week_of(small_plan, date(2027, 3, 7)), names, log)
    rows = form["jobs"]
    assert [row["date"] for row in rows] == ["2027-03-02"] * 3 + ["2027-03-05"]
    assert list(rows[0]) == [
        "date", "job", "batch", "crop", "bed", "sites", "amount", "unit", "note", "eat_by",
        "date_range_80", "any_site", "log", "done",
    ]  # fmt: skip
    assert [row["log"] for row in rows[:3]] == ["cropcal log sown L1", "cropcal log sown B1", ""]
    assert rows[2]["note"] == "change the solution"
    assert form["next"] == "2027-03-09"


def test_the_form_runs_from_monday_to_sunday(small_plan, names):
    """Jobs on Monday 8 and Sunday 14 March belong to a week, those a day before and after do not."""
    days = [date(2027, 3, day) for day in (7, 8, 14, 15)]
    plan = small_plan.model_copy(
        update={"jobs": tuple(small_plan.jobs[0].model_copy(update={"on": on}) for on in days)}
    )
    for asked in days[1:3]:
        found = [row["date"] for row in week_json.week(week_of(plan, asked), names, log)["jobs"]]
        assert found == ["2027-03-08", "2027-03-14"]


SPACE = """
[[zone]]
name = "shelf"
length_m = 1.0
width_m = 0.5
photoperiod_h = 18
air_c = 26
[[bed]]
name = "oak plank"
zone = "shelf"
sites = 6
[[bed]]
name = "seed drawer"
zone = "shelf"
kind = "nursery"
sites = 12
[[fixture]]
zone = "shelf"
watts = 60
[[reading]]
bed = "oak plank"
umol_m2_s = [[250, 250, 250]]
[[reading]]
bed = "seed drawer"
umol_m2_s = [[100, 100, 100]]
[plan]
start = 2027-03-01
[[want]]
crops = ["lettuce-butterhead"]
"""


@pytest.fixture
def looks(small_plan, read_text, tables):
    """Return a function from a day (and notes) to what to look at, for the two lettuce batches."""
    from cropcal.planning.site.bed_light import bed_lights

    space = read_text(SPACE)
    lettuce = tuple(batch for batch in small_plan.batches if batch.crop == "lettuce-butterhead")
    lights = bed_lights(space, tables)

    def look(on, *events):
        return scouting_list(lettuce, events, space, tables, lights, on)

    return look


def test_what_should_be_up_is_asked_about(looks):
    """Sown on Tuesday the 2nd and due up on Saturday the 6th, until it was counted."""
    (one,) = [one for one in looks(ON) if one.what == "up"]
    assert (one.batches, one.on, one.bed) == (("L1",), date(2027, 3, 6), "seed drawer")
    counted = Entry(on=ON, event="emerged", batch="L1", crop="lettuce-butterhead", amount=4)
    assert not [one for one in looks(ON, counted) if one.what == "up"]


def test_what_is_ready_soon_has_its_range(looks):
    """Ready on 6 April, seen from the week before, 3 to 11 April; not from three weeks before."""
    (one,) = [one for one in looks(date(2027, 4, 1)) if one.what == "ready"]
    assert (one.batches, one.on) == (("L1",), date(2027, 4, 6))
    assert (one.low_80, one.high_80) == (date(2027, 4, 3), date(2027, 4, 11))
    assert not [one for one in looks(date(2027, 3, 15)) if one.what == "ready"]


def test_faults_are_those_that_the_numbers_say(looks, names):
    """100 umol for 18 h are 6.48 mol, under 8; 250 are 16.2 in still air; at 26 C quality falls.

    6.48 = 100 x 18 x 3600 / 1e6; 16.2 = 250 x 18 x 3600 / 1e6.
    """
    found = {one.what: one for one in looks(date(2027, 3, 23))}
    assert found["leggy"].found == pytest.approx(6.48)
    assert "6.5 mol a day, sturdy ones have 8 and more (common practice)" in week_screen.look(
        found["leggy"], names
    )
    assert found["tip burn"].found == pytest.approx(16.2)
    assert found["tip burn"].still_air
    young = {one.what for one in looks(ON)}
    assert "leggy" in young
    assert not {"tip burn", "bolting", "heat"} & young


def test_a_lost_batch_is_not_looked_for(looks):
    """All three places lost, by number or without one: nothing of it comes up or gets ready."""
    for amount in (3.0, None):
        lost = Entry(on=ON, event="lost", batch="L1", crop="lettuce-butterhead", amount=amount)
        assert not [one for one in looks(date(2027, 4, 1), lost) if "L1" in one.batches]


def test_seed_is_ordered_in_its_week(looks):
    """A fortnight before the sowing of 2 March is Tuesday 16 February."""
    (one,) = [one for one in looks(date(2027, 2, 18)) if one.what == "order"]
    assert one.on == date(2027, 2, 16)


def test_a_value_that_nobody_printed_is_marked(names):
    """A limit from memory says so."""
    one = Look(what="bolting", crop="basil-sweet", bed="tub", found=18.0, limit=16.0, source="from memory")
    assert week_screen.look(one, names) == (
        "Sweet basil in tub: stems shooting up, it bolts above 16 h of light and has 18 (from memory)"
    )

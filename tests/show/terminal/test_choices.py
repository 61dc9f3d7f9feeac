"""The three choices on the screen of a plan, and how good its sowings are."""

from datetime import date

import pytest
import show_plans
from hypothesis import given
from hypothesis import strategies as st
from show_plans import NAMES, searched_plan, three_choices

from cropcal.show.terminal import plan as plan_screens
from cropcal.show.terminal.choices import choices_section, power, quality

UNPRICED = {"bill": tuple(line.model_copy(update={"cost": None}) for line in show_plans.small_plan().bill)}


def lines(result):
    return choices_section(result).split("\n")


def sections(result):
    """Return the text under each title of the plan's screen, on one line."""
    screen = plan_screens.plan(result, NAMES)
    blocks = (block.split("\n", 1) for block in screen.split("\n\n"))
    return {title: " ".join(rest[0].split()) if rest else "" for title, *rest in blocks}


def test_each_choice_has_a_line_and_that_of_the_plan_is_marked():
    """Cells, weeks missed with their range, weeks uneaten, the least sure week, power a month."""
    head, rule, *rows = lines(searched_plan())
    assert head.split("  ")[-1] == "EUR a month"
    assert set(rule) == {"-"}
    assert [" ".join(row.split()) for row in rows[:3]] == [
        "sparing 9 2.1 0.8-3.9 0.2 3 in 10, 12-18 Apr 21-24",
        "> usual 11 1.2 0.3-2.6 0.7 4 in 10, 19-25 Apr 21-24",
        "safe 15 0.6 0-1.4 2.4 7 in 10, 26 Apr - 2 May 21-25",
    ]
    assert rows[-1] == 'To choose: sow = "safe" under [plan], or plan --sow safe for once.'


def test_it_stands_right_under_the_headline():
    """Before what can be eaten; nothing of it where no want has a number."""
    screen = plan_screens.plan(searched_plan(), NAMES)
    assert screen.index("How much to sow") < screen.index("What you can eat")
    assert screen.split("\n")[2:4] == ["", "How much to sow"]
    assert "sow" not in plan_screens.plan(searched_plan(choices=()), NAMES).split("What you can eat")[0]


def test_who_has_chosen_safe_is_shown_another_choice():
    """What is typed to choose is never what is chosen."""
    safe = searched_plan(choices=three_choices("safe"))
    assert lines(safe)[-1].startswith('To choose: sow = "usual"')
    assert lines(safe)[4].startswith("> safe")


def test_without_a_tariff_power_is_energy():
    """In kWh; with one whose currency has no name, a cost."""
    assert lines(searched_plan(**UNPRICED))[0].endswith("  kWh a month")
    assert lines(searched_plan(currency=None))[0].endswith("  cost a month")


def test_a_choice_without_a_least_sure_week_has_a_dash():
    """No week counts, for instance."""
    (first, *rest) = three_choices()
    bare = first.model_copy(update=dict.fromkeys(["least_sure", "least_sure_week", "least_sure_want"]))
    assert "  -  " in lines(searched_plan(choices=(bare, *rest)))[2]


@given(
    scale=st.floats(min_value=0, max_value=30),
    currency=st.sampled_from(["EUR", "NOK", "CHF", None]),
    week=st.dates(date(2026, 12, 7), date(2028, 1, 31)),
)
def test_it_is_never_wider_than_a_terminal(scale, currency, week):
    """Small and large spaces, weeks over the end of a month or of a year: 80 columns, nothing cut."""
    choices = [choice.model_copy(update={"least_sure_week": week}) for choice in three_choices("safe", scale)]
    shown = lines(searched_plan(choices=tuple(choices), currency=currency))
    assert max(map(len, shown)) <= 80
    assert "…" not in "\n".join(shown)
    assert [row.split()[-1] for row in shown[2:5]] == [power(choice, choices) for choice in choices]


def test_what_is_missed_is_as_precise_for_each_choice():
    """A range from 12 weeks on has no tenths, and then none of the three has."""
    large = lines(searched_plan(choices=three_choices("safe", 7)))[2:5]
    for row, between in zip(large, ("6-27", "2-18", "0-10"), strict=True):
        assert f" {between} " in row


def test_how_good_it_is_stands_in_place_of_a_proof():
    """Beside the rule in the same seasons, what was tried and what the last of it gained."""
    said = sections(searched_plan())
    assert said["How good it is"] == (
        "Compared with the steady rule over the same seasons, this plan misses about 1.2 weeks (the"
        " rule 1.9),"
        " leaves 0.7 weeks' worth uneaten (1.4) and sows 11 cells or sites (12)."
        " Starting from the sowings of the steady rule, 1900 changes were tried; the last 400 gained 0.05"
        " weeks: searching on would hardly help."
    )
    assert said["If everything grows as forecast"] == (
        "This plan misses 2 weeks; any plan misses at least 1.8. One wanted crop in one week counts as 1."
    )
    screen = plan_screens.plan(searched_plan(), NAMES)
    for claim in ("proven", "score", "better by"):
        assert claim not in screen


def test_the_steady_rule_claims_nothing(small_plan):
    """It was not searched for: what it misses as forecast is all that is said."""
    rule = small_plan.model_copy(
        update={"outcome": small_plan.outcome.model_copy(update={"status": "steady rule"})}
    )
    said = sections(rule)
    assert said["If everything grows as forecast"].startswith("This plan misses 2 weeks")
    assert "How good it is" not in said


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"gained_last": 0.8}, "the last 400 gained 0.8 weeks."),
        ({"gained_last": 0.0}, "the last 400 gained nothing: searching on would hardly help."),
        ({"start": "last plan"}, "Starting from the sowings of the last plan, 1900 changes were tried"),
        ({"start": "middle"}, "Starting from a plan for an average season, 1900 changes were tried"),
        ({"start": "nothing"}, "Starting from nothing sown, 1900 changes were tried"),
        ({"trials_last": 0}, "1900 changes were tried."),
        ({"trials": 0}, "No other sowings were tried."),
        ({"rule": None}, "Starting from the sowings"),
    ],
)
def test_what_was_tried_is_said_as_it_was(changes, said):
    """Whether more would help is said only where the last trials show it."""
    plan = searched_plan()
    told = " ".join(quality(plan.model_copy(update={"searched": plan.searched.model_copy(update=changes)})))
    assert said in told
    assert ("hardly help" in told) == (
        "hardly help" in said or changes.keys() <= {"start", "seconds", "rule"}
    )
    assert ("steady rule over the same seasons" in told) == ("rule" not in changes)


def test_a_search_that_was_stopped_says_so():
    """Ctrl-C or the time limit: the best so far, whatever the last trials gained."""
    plan = searched_plan()
    for gained in (0.05, 0.8):
        searched = plan.searched.model_copy(update={"stopped": True, "gained_last": gained})
        told = quality(plan.model_copy(update={"searched": searched}))[-1]
        assert told.endswith(" Ctrl-C or the time limit stopped the search: this is the best so far.")
        assert ("hardly help" in told) == (gained < 0.1)


def test_choices_that_could_not_differ_are_explained():
    """Three lines alike look like a fault; where there was time to differ, they are what they are."""
    first, *_ = three_choices()
    same = [first.model_copy(update={"name": name}) for name in ("sparing", "usual", "safe")]
    plan = searched_plan(choices=tuple(same))
    stopped = plan.model_copy(update={"searched": plan.searched.model_copy(update={"stopped": True})})
    assert "before the choices could differ" in choices_section(stopped)
    assert "could differ" not in choices_section(plan)
    assert "All three are the same here" in choices_section(plan)
    assert "All three are the same here" not in choices_section(stopped)
    assert "could differ" not in choices_section(stopped.model_copy(update={"choices": three_choices()}))


@pytest.mark.parametrize(
    ("missed", "least", "said"),
    [
        (0.0, 0.0, "This plan misses no weeks."),
        (1.0, 0.0, "This plan misses 1 week. One want"),
        (3.5, 0.04, "This plan misses 3.5 weeks. One want"),
        (3.5, 2.97, "This plan misses 3.5 weeks; any plan misses at least 2.9. One want"),
    ],
)
def test_what_is_missed_as_forecast_promises_no_more_than_is_known(missed, least, said):
    """The bound is rounded down, and one of nothing is not told."""
    plan = searched_plan()
    outcome = plan.outcome.model_copy(update={"short_want_weeks": missed, "bound_want_weeks": least})
    told = sections(plan.model_copy(update={"outcome": outcome}))
    assert told["If everything grows as forecast"].startswith(said)

"""The three choices of how much is sown, a line each, and how good the sowings of a plan are, in words."""

from collections.abc import Sequence

from cropcal.records.chances import Choice, Expected, Searched
from cropcal.records.plan import Outcome, SeasonPlan
from cropcal.show import text
from cropcal.show.wording import power_a_month, week_of

HARDLY_WEEKS = 0.1
"""Gain of the last trials, in weeks without one want, from which on more of them would hardly help."""
STARTS = {
    "last plan": "Starting from the sowings of the last plan",
    "steady rule": "Starting from the sowings of the steady rule",
    "middle": "Starting from a plan for an average season",
    "nothing": "Starting from nothing sown",
}
STOPPED = " Ctrl-C or the time limit stopped the search: this is the best so far."
STOPPED_ALIKE = "The search was stopped before the choices could differ: give it more time."
ALIKE = "All three are the same here: nothing else that was tried is worth it."
COLUMNS = (
    "> marks this plan. Columns: cells or sites sown; weeks missed, with their range in four seasons"
    " out of five; weeks'"
    " worth not eaten; the riskiest week and its chance; power, in four cases out of five."
)


def choices_section(result: SeasonPlan) -> str:
    """Return what each choice sows, misses, wastes and costs, and how to choose; "" where no week counts."""
    if not weighed(result):
        return ""
    rows = [
        (
            f"{'>' if choice.chosen else ' '} {choice.name}",
            str(choice.cells),
            weeks(choice.short_want_weeks),
            missed_80(choice, result.choices),
            weeks(choice.surplus_want_weeks),
            least_sure(choice),
            power(choice, result.choices),
        )
        for choice in result.choices
    ]
    headers = ("  sow", "sown", "missed", "4 in 5", "uneaten", "riskiest week", power_a_month(result))
    table = text.table(headers, rows, "krrrrwr")
    return "\n".join([table, *map(text.wrap, (COLUMNS, *alike(result), how_to_choose(result)))])


def weighed(result: SeasonPlan) -> tuple[Choice, ...]:
    """Return the choices of a plan in which some week can be missed; none without a wanted number."""
    return result.choices if any(choice.least_sure is not None for choice in result.choices) else ()


def alike(result: SeasonPlan) -> list[str]:
    """Return why all choices are the same; nothing where they differ."""
    stopped = result.searched is not None and result.searched.stopped
    brings = {(choice.cells, choice.short_want_weeks) for choice in result.choices}
    if len(brings) != 1:
        return []
    return [STOPPED_ALIKE if stopped else ALIKE]


def how_to_choose(result: SeasonPlan) -> str:
    """Return what to write or to type for another choice."""
    other = "usual" if any(choice.chosen and choice.name == "safe" for choice in result.choices) else "safe"
    return f'To choose: sow = "{other}" under [plan], or plan --sow {other} for once.'


def weeks(value: float) -> str:
    """Return an expected number of weeks: tenths below ten."""
    return text.plain(value, 0 if value >= 10 else 1)


def missed_80(choice: Choice, choices: Sequence[Choice]) -> str:
    """Return the missed weeks of four seasons in five, as precisely as those of all choices: "5-11"."""
    most = max(other.short_high_80 for other in choices)
    return _range(choice.short_low_80, choice.short_high_80, most)


def power(choice: Choice, choices: Sequence[Choice]) -> str:
    """Return the range of a month's power, as precisely as those of all choices: "21-24"."""
    return _range(choice.power_low, choice.power_high, max(other.power_high for other in choices))


def _range(low: float, high: float, most: float) -> str:
    decimals = 0 if most >= 10 else 1
    return "-".join(dict.fromkeys(text.plain(value, decimals) for value in (low, high)))


def least_sure(choice: Choice) -> str:
    """Return the chance of a choice's least sure week, and that week: "4 in 10, 12-18 Apr"."""
    if choice.least_sure is None or choice.least_sure_week is None:
        return "-"
    odds = text.odds(choice.least_sure).removeprefix("about ")
    first, last = week_of(choice.least_sure_week)
    if first.year == last.year:
        return f"{odds}, {text.span(first, last)}"
    return f"{odds}, {text.span(first, first)} - {text.span(last, last)}"  # no room for years


def quality(result: SeasonPlan) -> list[str]:
    """Return how good the sowings are: beside the steady rule, and what more trying would bring.

    A plan that was not searched for in drawn seasons gives an empty list.
    """
    searched = result.searched
    if searched is None:
        return []
    plan, rule = result.expected, searched.rule
    beside = [_beside(plan, rule)] if plan and plan.weeks and rule else []
    return [*beside, _tried(searched)]


def _beside(plan: Expected, rule: Expected) -> str:
    return (
        f"Compared with the steady rule over the same seasons, this plan misses about"
        f" {weeks(plan.short_want_weeks)}"
        f" weeks (the rule {weeks(rule.short_want_weeks)}), leaves {weeks(plan.surplus_want_weeks)} weeks'"
        f" worth uneaten ({weeks(rule.surplus_want_weeks)}) and sows {plan.cells} cells or sites"
        f" ({rule.cells})."
    )


def _tried(searched: Searched) -> str:
    """Return how many changes were tried, what the last ones gained, and whether more would help."""
    sentence = "No other sowings were tried"
    if searched.trials:
        sentence = f"{STARTS[searched.start]}, {searched.trials} changes were tried"
    if searched.trials and searched.trials_last:
        gained = text.plain(searched.gained_last, 2)
        sentence += f"; the last {searched.trials_last} gained "
        sentence += "nothing" if gained == "0" else f"{gained} week{'s' if gained != '1' else ''}"
        if searched.gained_last <= HARDLY_WEEKS:
            sentence += ": searching on would hardly help"
    return f"{sentence}.{STOPPED if searched.stopped else ''}"


def as_forecast(outcome: Outcome) -> str:
    """Return what is missed if everything grows as forecast, and what every plan misses then."""
    if outcome.short_want_weeks < 0.05:
        return "This plan misses no weeks."
    short = text.plain(outcome.short_want_weeks, 1)
    missed = f"{short} week{'s' if short != '1' else ''}"
    least = int(outcome.bound_want_weeks * 10 + 1e-6) / 10  # rounded down: no more than is known
    bound = f"; any plan misses at least {text.plain(least, 1)}" if least > 0 else ""
    return f"This plan misses {missed}{bound}. One wanted crop in one week counts as 1."

"""In the first part of the page: the three choices of how much is sown, each with a picture."""

from collections.abc import Mapping
from dataclasses import dataclass

from cropcal.records.chances import Choice
from cropcal.records.plan import SeasonPlan
from cropcal.show import text
from cropcal.show.page.svg import Markup, element, line, percent, words
from cropcal.show.terminal.choices import least_sure, missed_80, power, weeks, weighed
from cropcal.show.wording import power_a_month, want_name

MIDDLE, AXIS, HEIGHT = 10.0, 24.0, 44.0
MOST_TICKS = 5
ROOM = 1.06
"""The axis is so much longer than the highest value, so that nothing touches the edge."""


@dataclass(frozen=True)
class ChoiceRow:
    """One choice in words, and its missed weeks on an axis that all choices share."""

    name: str
    chosen: bool
    cells: str
    missed: str
    uneaten: str
    least_sure: str
    want: str
    power: str
    picture: Markup


def rows(result: SeasonPlan, names: Mapping[str, str]) -> tuple[ChoiceRow, ...]:
    """Return a row for each choice; none where no week counts."""
    wants = {row.want: want_name(row.label, names) for row in result.supply}
    return tuple(_row(choice, result, wants) for choice in weighed(result))


def _row(choice: Choice, result: SeasonPlan, wants: Mapping[int, str]) -> ChoiceRow:
    choices = result.choices
    top = max(max(other.short_high_80, other.short_want_weeks) for other in choices) or 1.0
    missed = (
        f"misses about {weeks(choice.short_want_weeks)}, in four seasons out of five"
        f" {missed_80(choice, choices)}"
    )
    return ChoiceRow(
        name=choice.name,
        chosen=choice.chosen,
        cells=f"{choice.cells} cells or sites",
        missed=missed,
        uneaten=f"{weeks(choice.surplus_want_weeks)} weeks' worth not eaten",
        least_sure="" if choice.least_sure is None else least_sure(choice),
        want="" if choice.least_sure_want is None else wants.get(choice.least_sure_want, ""),
        power=f"power {power(choice, choices)} {power_a_month(result)}",
        picture=_picture(choice, top * ROOM, f"{choice.name} {missed}"),
    )


def _picture(choice: Choice, top: float, spoken: str) -> Markup:
    """Return the missed weeks as a dot with its 80 % range, over an axis from no week on."""
    low, high, dot = (
        percent(value / top) for value in (choice.short_low_80, choice.short_high_80, choice.short_want_weeks)
    )
    ticks = [part for value in _ticks(top) for part in _tick(value, top)]
    return element(
        "svg",
        line("0%", AXIS, "100%", AXIS, "axis"),
        *ticks,
        line(low, MIDDLE, high, MIDDLE, "spread"),
        line(low, MIDDLE - 5, low, MIDDLE + 5, "spread"),
        line(high, MIDDLE - 5, high, MIDDLE + 5, "spread"),
        element("circle", cx=dot, cy=MIDDLE, r=5, class_="dot this" if choice.chosen else "dot"),
        class_="range",
        width="100%",
        height=HEIGHT,
        role="img",
        aria_label=spoken,
    )


def _tick(value: float, top: float) -> tuple[Markup, Markup]:
    at, anchor = percent(value / top), "start" if value == 0 else "middle"
    label = text.plain(value, 1)
    return line(at, AXIS, at, AXIS + 4, "axis"), words(at, HEIGHT - 4, label, "small", text_anchor=anchor)


def _ticks(top: float) -> list[float]:
    """Return round numbers from 0 to the end of the axis, a handful of them."""
    rounds = (digit * 10**power for power in range(-1, 6) for digit in (1, 2, 5))
    step = next((step for step in rounds if top / step <= MOST_TICKS), top)
    return [number * step for number in range(int(top / step) + 1)]

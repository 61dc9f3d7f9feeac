"""Cures in words: what to change, how well the crop then does, what it costs, and how to try it."""

import shlex
from collections.abc import Mapping, Sequence

from cropcal.records.fit import Cure, Cures, CureStep, Fit, TooWeak
from cropcal.show import text
from cropcal.show.wording import crop_name

THEN = {
    "ok": "grows well",
    "slow": "grows slowly",
    "risk": "is at risk",
    "no": "is not suitable",
}
LEAST_MONEY, LEAST_KWH, LEAST_DAYS = 0.005, 0.05, 1.0
"""Below this nothing is said."""


def words(cure: Cure, names: Mapping[str, str], currency: str | None) -> str:
    """Return a cure: its steps, the verdict then, power, days, and whom it harms.

    ``names``: slug -> name of the crop; ``currency``: None without a tariff.
    """
    parts = [f"then it {THEN[cure.verdict_after]}", *_power(cure, currency), *_days(cure)]
    steps = ", and ".join(_step(step) for step in cure.steps)
    harmed = ", ".join(f"{crop_name(fit.crop, names)} {THEN[fit.verdict]}" for fit in cure.harms)
    return f"{steps}; {', '.join(parts)}" + (f"; but then {harmed}" if harmed else "")


def too_weak(weak: TooWeak, names: Mapping[str, str]) -> str:
    """Return the sentence on a lamp that is too weak at any hours, with the watts that are missing."""
    *others, last = (crop_name(slug, names) for slug in weak.crops)
    crops = f"{', '.join(others)} and {last}" if others else last
    return (
        f"The lamp of {text.clean(weak.zone)} is too weak for {crops} to grow well, even at "
        f"{text.hours(weak.longest_h)} a day. At {_hours(weak.hours)} a day it would take about "
        f"{text.plain(weak.watts_more, 0)} W more of the same lamp."
    )


def first_lines(cures: Cures, names: Mapping[str, str]) -> str:
    """Return the lines on lamps that are too weak, which come before the light; "" where there are none."""
    lines = [text.wrap(too_weak(weak, names)) for weak in cures.too_weak]
    return "\n".join([*lines, "", ""]) if lines else ""


def in_words(
    fits: Sequence[Fit], cures: Cures, names: Mapping[str, str], currency: str | None
) -> tuple[Fit, ...]:
    """Return the verdicts with the words of their cures; where none was found for a crop, those of before.

    A crop that has cures in one bed gets no other words in its other beds, for these were not computed.
    """
    worded = []
    for fit in fits:
        own = "; or ".join(words(cure, names, currency) for cure in cures.of(fit.crop, fit.bed))
        worded.append(fit.model_copy(update={"cure": own}) if cures.knows(fit.crop) else fit)
    return tuple(worded)


def try_it(cure: Cure, command: str) -> list[str]:
    """Return the command that tries a cure: one line, or one for each value with a backslash between."""
    options = [f"--set {shlex.quote(setting)}" for setting in cure.settings]
    whole = " ".join([command, *options])
    if len(options) == 1 or text.display_width(whole) <= text.WIDTH:
        return [whole]
    return [f"{command} \\", *(f"  {option} \\" for option in options[:-1]), f"  {options[-1]}"]


def _step(step: CureStep) -> str:
    """Return one step in words."""
    change = abs(step.after - step.before)
    more = step.after > step.before
    match step.kind:
        case "hours":
            return f"{_hours(step.after)} of lamp light a day instead of {_hours(step.before)}"
        case "fan":
            return "a small fan over the leaves"
        case "height":
            height, moved = text.plain(step.after * 100, 0), text.plain(change * 100, 0)
            return f"the lamp {moved} cm {'higher' if more else 'lower'}, {height} cm above the leaves"
        case "output":
            return f"the lamp turned {'up' if more else 'down'} to {text.percent(step.after)}"
        case "walls":
            return "white boards or paint on all sides"
        case "bed":
            return f"grow it in {text.clean(step.subject)}"
        case "flow":
            return f"a fan that blows {text.plain(step.after, 0)} m³/h of the room's air through"
        case "air":
            warmer = f"{text.plain(change, 1)} °C {'warmer' if more else 'cooler'} than now"
            return f"air of {step.after:.3g} °C, {warmer}"
        case "shade":
            return f"shade that lets in {text.percent(step.after)} of today's sun"
        case "watts":
            more_w = f"about {text.plain(change, 0)} W"
            return (
                f"a second lamp of the same kind, {more_w}"
                if change <= step.before
                else f"{more_w} more of the same kind of lamp"
            )


def _hours(value_h: float) -> str:
    """Return hours to the minute: "45 min", "14 h", "14 h 15 min"."""
    hours, minutes = divmod(round(value_h * 60), 60)
    parts = [f"{hours} h"] * bool(hours) + [f"{minutes} min"] * bool(minutes)
    return " ".join(parts) or "0 h"


def _power(cure: Cure, currency: str | None) -> list[str]:
    """Return what a cure costs a week, or saves."""
    if cure.cost_per_week is not None:
        amount, least = cure.cost_per_week, LEAST_MONEY
        shown = text.money(abs(amount), currency)
    else:
        amount, least = cure.kwh_per_week, LEAST_KWH
        shown = f"{text.kwh(abs(amount))} kWh"
    return [f"{shown} a week {'more' if amount > 0 else 'less'}"] if abs(amount) >= least else []


def _days(cure: Cure) -> list[str]:
    """Return how much sooner or later a crop is then ready."""
    days = cure.days_sooner
    if days is None or abs(days) < LEAST_DAYS:
        return []
    count = round(abs(days))
    return [f"harvest {count} day{'' if count == 1 else 's'} {'sooner' if days > 0 else 'later'}"]

"""What `cropcal trial` prints: two groups of batches, and whether they differ by more than noise."""

from collections.abc import Mapping
from typing import Any

from cropcal.records.learned import BatchOutcome, Difference, Trial
from cropcal.show import text
from cropcal.show.wording import crop_name

VERDICTS = {
    "told": "yes",
    "likely": "likely",
    "noise": "no: noise",
    "too few": "too few",
}
METHOD = (
    "days: from sowing to the first cut; weight: of a plant then; in brackets: the range that should hold in"
    " four cases out of five. Differs: yes where noise alone would do it in less than one case in 20,"
    " likely in"
    " less than one case in five. Welch's test (1947) of batch means, weights by their logarithm."
    " Forecast: the"
    " book's for a home, with the light, air and hours it had."
)


def trial(comparison: Trial, names: Mapping[str, str]) -> str:
    """Return the whole screen: the differences, the batches, and the cautions."""
    first, second = comparison.groups
    rows = [_batch(outcome, comparison.groups) for outcome in comparison.outcomes]
    batches = text.table(
        ("batch", "group", "sown", "days", "forecast", "g a plant", "forecast"), rows, "wwlrrrr"
    )
    lines = [difference_row(row) for row in comparison.differences]
    differs = text.table(
        ("", text.clip(first, 17), text.clip(second, 17), "difference", "differs"), lines, "wrrrw"
    )
    more = [
        f"{row.what}: {batches_needed(row)}"
        for row in comparison.differences
        if row.verdict in ("noise", "likely")
    ]
    about = "" if comparison.other else f"{crop_name(comparison.crop, names)}: "
    return (
        f"{about}{text.clean(second)} against {text.clean(first)}\n\n"
        f"{differs}\n\n"
        f"{text.wrap(METHOD)}\n\n{batches}\n"
        + text.section("To tell a difference of this size", text.bullets(more) if more else "")
        + text.section("What is lacking", text.bullets(comparison.missing) if comparison.missing else "")
        + text.section("Bear in mind", text.bullets(comparison.notes))
    )


def difference_row(row: Difference) -> tuple[str, ...]:
    """Return what was compared, both means, their difference, and whether it is more than noise."""
    return row.what, _mean(row, 0), _mean(row, 1), _difference_text(row), VERDICTS[row.verdict]


def _batch(outcome: BatchOutcome, groups: tuple[str, str]) -> tuple[str, ...]:
    numbers = (outcome.days_forecast, outcome.g, outcome.g_forecast)
    days, g, expected = ("-" if number is None else f"{number:.0f}" for number in numbers)
    return (
        outcome.batch,
        text.clean(groups[outcome.group]),
        text.day_year(outcome.sown_on),
        str(outcome.days),
        days,
        g,
        expected,
    )


def _mean(row: Difference, group: int) -> str:
    mean = row.means[group]
    if mean is None:
        return "-"
    return {"d": f"{mean:.1f} d", "g": f"{mean:.0f} g", "ratio": f"{mean:.2f}"}[row.unit]


def _difference_text(row: Difference) -> str:
    if row.difference is None or row.low_80 is None or row.high_80 is None:
        return "-"
    if row.unit == "d":
        return f"{row.difference:+.1f} d ({row.low_80:+.1f} to {row.high_80:+.1f})"
    middle, low, high = (f"{value - 1:+.0%}" for value in (row.difference, row.low_80, row.high_80))
    return f"{middle} ({low} to {high})"


def batches_needed(row: Difference) -> str:
    """Return how many batches would tell a difference of this size."""
    if row.needed is None:
        return "more than 200 batches in each group: there is hardly any difference"
    more = [max(row.needed - count, 0) for count in row.counts]
    if not any(more):
        return f"{row.needed} batches in each group, which you have: chance this time, or smaller"
    return f"{row.needed} batches in each group, so {more[0]} and {more[1]} more"


def form(comparison: Trial) -> dict[str, Any]:
    """Return the whole comparison for ``--json``: ``differences[]``, ``batches[]``."""
    return {
        "crop": comparison.crop,
        **({"other_crop": comparison.other} if comparison.other else {}),
        "groups": list(comparison.groups),
        "dli_mol_m2_d": list(comparison.dli_mol_m2_d),
        "differences": [_difference(row) for row in comparison.differences],
        "batches": [
            outcome.model_dump(mode="json", exclude={"group"}) | {"group": comparison.groups[outcome.group]}
            for outcome in comparison.outcomes
        ],
        "missing": list(comparison.missing),
        "notes": list(comparison.notes),
        "method": METHOD,
    }


def _difference(row: Difference) -> dict[str, Any]:
    ends = None if row.low_80 is None else [row.low_80, row.high_80]
    return {
        "what": row.what,
        "unit": row.unit,
        "counts": list(row.counts),
        "means": list(row.means),
        "difference": row.difference,
        "range_80": ends,
        "difference_is": "second less first" if row.unit == "d" else "second over first",
        "chance_by_noise": row.chance_by_noise,
        "differs": VERDICTS[row.verdict],
        "batches_needed": row.needed,
    }

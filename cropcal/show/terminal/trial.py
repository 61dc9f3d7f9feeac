"""What `cropcal trial` prints: two groups of batches, and whether they differ by more than noise."""

from collections.abc import Mapping
from typing import Any

from cropcal.records.comparison import BatchOutcome, Difference, Trial
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
    " four cases of five. Differs: yes where noise alone would do it in less than one case of 20, likely in"
    " less than one of five. Welch's test (1947) of batch means, weights by their logarithm. Forecast: the"
    " book's for a home, with the light, air and hours it had."
)


def trial(found: Trial, names: Mapping[str, str]) -> str:
    """Return the batches, the differences, and what to mind."""
    one, other = found.groups
    rows = [_batch(outcome, found.groups) for outcome in found.outcomes]
    batches = text.table(
        ("batch", "group", "sown", "days", "forecast", "g a plant", "forecast"), rows, "wwlrrrr"
    )
    lines = [
        (row.what, _mean(row, 0), _mean(row, 1), _apart(row), VERDICTS[row.verdict])
        for row in found.differences
    ]
    differs = text.table(
        ("", text.clip(one, 17), text.clip(other, 17), "difference", "differs"), lines, "wrrrw"
    )
    more = [f"{row.what}: {_needed(row)}" for row in found.differences if row.verdict in ("noise", "likely")]
    return (
        f"{crop_name(found.crop, names)}: {text.clean(other)} against {text.clean(one)}\n\n{differs}\n\n"
        f"{text.wrap(METHOD)}\n\n{batches}\n"
        + text.section("To tell a difference of this size", text.bullets(more) if more else "")
        + text.section("What is missing", text.bullets(found.missing) if found.missing else "")
        + text.section("Mind", text.bullets(found.notes))
    )


def _batch(one: BatchOutcome, groups: tuple[str, str]) -> tuple[str, ...]:
    numbers = (one.days_forecast, one.g, one.g_forecast)
    days, g, expected = ("-" if number is None else f"{number:.0f}" for number in numbers)
    return (
        one.batch,
        text.clean(groups[one.group]),
        text.day_year(one.sown_on),
        str(one.days),
        days,
        g,
        expected,
    )


def _mean(row: Difference, group: int) -> str:
    mean = row.means[group]
    if mean is None:
        return "-"
    return {"d": f"{mean:.1f} d", "g": f"{mean:.0f} g", "ratio": f"{mean:.2f}"}[row.unit]


def _apart(row: Difference) -> str:
    if row.difference is None or row.low_80 is None or row.high_80 is None:
        return "-"
    if row.unit == "d":
        return f"{row.difference:+.1f} d ({row.low_80:+.1f} to {row.high_80:+.1f})"
    middle, low, high = (f"{value - 1:+.0%}" for value in (row.difference, row.low_80, row.high_80))
    return f"{middle} ({low} to {high})"


def _needed(row: Difference) -> str:
    if row.needed is None:
        return "more than 200 batches in each group: there is hardly any"
    more = [max(row.needed - count, 0) for count in row.counts]
    if not any(more):
        return f"{row.needed} batches in each group, which there are: it was noise this time, or smaller"
    return f"{row.needed} batches in each group, so {more[0]} and {more[1]} more"


def form(found: Trial) -> dict[str, Any]:
    """Return the whole comparison for ``--json``: ``differences[]``, ``batches[]``."""
    return {
        "crop": found.crop,
        "groups": list(found.groups),
        "dli_mol_m2_d": list(found.dli_mol_m2_d),
        "differences": [_difference(row) for row in found.differences],
        "batches": [
            one.model_dump(mode="json", exclude={"group"}) | {"group": found.groups[one.group]}
            for one in found.outcomes
        ],
        "missing": list(found.missing),
        "notes": list(found.notes),
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

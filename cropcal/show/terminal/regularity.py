"""How regular a plan is, and what it costs to do the same in every cycle, in words."""

from collections.abc import Mapping, Sequence

from cropcal.records.rhythm import Rhythm, Tally
from cropcal.show import text
from cropcal.show.wording import crop_name


def every(cycle_weeks: int) -> str:
    """Return the interval of a cycle in words: every week, every 2 weeks."""
    return "every week" if cycle_weeks == 1 else f"every {cycle_weeks} weeks"


def regularity_sentences(rhythm: Rhythm, names: Mapping[str, str]) -> str:
    """Return sentences on how regular a plan is; "" if nothing is sown."""
    if not rhythm.crops:
        return ""
    sentences = []
    if rhythm.steady:
        sentences.append(
            f"Steady: the same is sown {every(rhythm.cycle_weeks)}, but for what would fall in a break or"
            " bring nothing wanted, and what is sown besides until the first harvests."
        )
    day = "weekday" if rhythm.cycle_weeks == 1 else "day of the cycle"
    sentences.append(
        f"On {rhythm.usual_days} of {rhythm.work_days} work days, from the first sowing to the last, each"
        f" crop is sown in the number that is usual for that {day}."
    )
    sizes = [f"{crop_name(row.crop, names)} {_numbers(row.sizes)}" for row in rhythm.crops]
    sentences.append(f"Sites sown at once: {'; '.join(sizes)}.")
    if rhythm.service_left:
        sentences.append(
            "Nothing more is sown for the chance that the file asks for: it would break the rhythm."
        )
    return " ".join(sentences)


def _numbers(sizes: Sequence[int]) -> str:
    """Return "always 1" or "1, 2 or 4"."""
    if len(sizes) == 1:
        return f"always {sizes[0]}"
    return f"{', '.join(map(str, sizes[:-1]))} or {sizes[-1]}"


def regularity_section(rhythm: Rhythm | None, names: Mapping[str, str], currency: str | None) -> str:
    """Return how regular a plan is and, if it is steady, its cost beside a free plan's."""
    if rhythm is None or not (sentences := regularity_sentences(rhythm, names)):
        return ""
    return text.wrap(sentences) + (f"\n\n{cost_table(rhythm, currency)}" if rhythm.steady else "")


def cost_table(rhythm: Rhythm, currency: str | None) -> str:
    """Return a steady plan beside the free one, as a table."""
    power = f"power {text.clean(currency)}" if currency else "power kWh"
    heads = ("", "weeks short", "weeks too much", power, "sowings")
    return text.table(heads, cost_rows(rhythm, currency), "lrrrr")


def cost_rows(rhythm: Rhythm, currency: str | None) -> list[tuple[str, ...]]:
    """Return a steady plan and the free one: name, weeks short and too much, power, sowings."""
    both = (("this steady plan", rhythm.this), ("a free plan", rhythm.free))
    return [_row(name, tally, currency) for name, tally in both if tally is not None]


def _row(name: str, tally: Tally, currency: str | None) -> tuple[str, ...]:
    return (
        name,
        text.plain(tally.short_want_weeks, 1),
        text.plain(tally.surplus_want_weeks, 1),
        text.money(tally.power_cost) if currency else text.kwh(tally.power_cost),
        str(tally.sowings),
    )

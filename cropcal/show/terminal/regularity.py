"""How regular a plan is, and what it costs to do the same in every cycle, in words."""

from collections.abc import Mapping, Sequence

from cropcal.records.rhythm import Rhythm, Tally
from cropcal.show import text
from cropcal.show.wording import crop_name


def every(cycle_weeks: int) -> str:
    """Return how often things come round: every week, every 2 weeks."""
    return "every week" if cycle_weeks == 1 else f"every {cycle_weeks} weeks"


def regular(found: Rhythm, names: Mapping[str, str]) -> str:
    """Return in sentences how regular a plan is; nothing if nothing is sown."""
    if not found.crops:
        return ""
    said = []
    if found.steady:
        said.append(
            f"Steady: the same is sown {every(found.cycle_weeks)}, but for what would fall in a break or"
            " bring nothing wanted, and what is sown besides until the first harvests."
        )
    day = "weekday" if found.cycle_weeks == 1 else "day of the cycle"
    said.append(
        f"On {found.usual_days} of {found.work_days} work days, from the first sowing to the last, each crop"
        f" is sown in the number that is usual for that {day}."
    )
    sizes = [f"{crop_name(one.crop, names)} {_numbers(one.sizes)}" for one in found.crops]
    said.append(f"Sites sown at once: {'; '.join(sizes)}.")
    if found.service_left:
        said.append("Nothing more is sown for the chance that the file asks for: it would break the rhythm.")
    return " ".join(said)


def _numbers(sizes: Sequence[int]) -> str:
    """Return "always 1" or "1, 2 or 4"."""
    if len(sizes) == 1:
        return f"always {sizes[0]}"
    return f"{', '.join(map(str, sizes[:-1]))} or {sizes[-1]}"


def rhythm(found: Rhythm | None, names: Mapping[str, str], currency: str | None) -> str:
    """Return how regular a plan is and, if it is steady, what that costs against a free one."""
    if found is None or not (said := regular(found, names)):
        return ""
    return text.wrap(said) + (f"\n\n{costs(found, currency)}" if found.steady else "")


def costs(found: Rhythm, currency: str | None) -> str:
    """Return a steady plan beside the free one, as a table."""
    power = f"power {text.clean(currency)}" if currency else "power kWh"
    heads = ("", "weeks short", "weeks too much", power, "sowings")
    return text.table(heads, rhythm_rows(found, currency), "lrrrr")


def rhythm_rows(found: Rhythm, currency: str | None) -> list[tuple[str, ...]]:
    """Return a steady plan and the free one: name, weeks short and too much, power, sowings."""
    both = (("this steady plan", found.this), ("a free plan", found.free))
    return [_row(name, tally, currency) for name, tally in both if tally is not None]


def _row(name: str, tally: Tally, currency: str | None) -> tuple[str, ...]:
    return (
        name,
        text.plain(tally.short_want_weeks, 1),
        text.plain(tally.surplus_want_weeks, 1),
        text.money(tally.power_cost) if currency else text.kwh(tally.power_cost),
        str(tally.sowings),
    )

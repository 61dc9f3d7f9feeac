"""What ``cropcal new`` says last, in the lines of a usual terminal."""

from collections.abc import Mapping, Sequence

from cropcal.records.plan import BedLight, Narrowing, SeasonPlan
from cropcal.show import text
from cropcal.show.glance.fitting import CARE, ScreenPart, fitted, sentence, warning_block
from cropcal.show.terminal.new import given_each_week, lamp_facts, ready_about
from cropcal.show.terminal.plan import headline
from cropcal.show.text import LINES


def first_glance(
    result: SeasonPlan,
    names: Mapping[str, str],
    guessed: Sequence[str],
    unsure: tuple[BedLight, tuple[Narrowing, ...]] | None,
    folder: str,
    lines: int = LINES,
) -> str:
    """Return the first plan of a new space in so many lines; the other arguments are those of ``first``."""
    last = [
        f"All of it: {text.as_typed('plan', folder, '--all')}",
        f"Next, type: {text.as_typed('plan', folder)}",
    ]
    ready = "; ".join(f"{crop} {on}" for crop, on in ready_about(result, names).items())
    each_week = "; ".join(given_each_week(result, names))
    assumed = "; ".join(guessed)
    what_to_expect = [
        *([sentence(f"First ready about: {ready}", 2)] if ready else []),
        *([sentence(f"Each week it could give {each_week}", 3)] if each_week else []),
        sentence(f"Lamp hours and power: {', '.join(lamp_facts(result))}", 2),
    ]
    what_is_open = [
        *([sentence(f"Assumed: {assumed}", 3)] if assumed else []),
        sentence(f"To be surer, {_find_out(unsure)}", 2),
    ]
    blocks = [
        ScreenPart((), sentence(headline(result))),
        ScreenPart(tuple(what_to_expect)),
        warning_block(result.warnings, 3, CARE if result.cautions else ""),
        ScreenPart(tuple(what_is_open)),
    ]
    return "\n".join([fitted(blocks, lines - 1 - len(last)), *last, ""])


def _find_out(unsure: tuple[BedLight, tuple[Narrowing, ...]] | None) -> str:
    """Return the measurement that narrows the least certain light most."""
    if unsure is None or not unsure[1]:
        return "note the first harvest: nothing teaches more"
    light, ways = unsure
    best = min(ways, key=lambda way: way.sd_ln)
    known = f"now known to within {text.known_to(light.sd_ln)}, then to {text.known_to(best.sd_ln)}"
    return f"find out how bright it is in {light.bed} with {best.find}: {known}"

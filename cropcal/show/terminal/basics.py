"""What the commands that plan nothing print: check, crops, when; light and bill have modules of their own.

Every function returns text that ends in a newline.
"""

from collections.abc import Mapping, Sequence
from itertools import accumulate

from cropcal.problems import Problem
from cropcal.records.crop import IN_PRINT, Crop
from cropcal.records.fit import Fit
from cropcal.records.forecast import Forecast
from cropcal.show import hazard_words, text
from cropcal.show.terminal.light import verdicts
from cropcal.show.text import LINES
from cropcal.show.wording import assumptions, crop_name

IN_BRACKETS = "In brackets: the range that should hold in four cases out of five."


def check(problems: Sequence[Problem], path: str, *, tried: bool = False, whole: bool = True) -> str:
    """Return one line for each problem, as many as fit a terminal unless ``whole``, and their number.

    Without any, what to type next (not while values are tried).
    """
    if not problems:
        following = "" if tried else f"\nNext, type: cropcal light {text.typed(path)}\n"
        return f"{path}: no mistakes found\n{following}"
    count = f"{len(problems)} {'mistake' if len(problems) == 1 else 'mistakes'} found"
    lines = [text.clean(str(problem)) for problem in problems]
    everything = f"All of it: {text.as_typed('check', path, '--all')}"
    shown = lines if whole else _first_screen(lines, LINES - 1 - _height(everything))
    if len(shown) < len(lines):
        count += f", {len(shown)} of them shown\n{everything}"
    return "".join(f"{line}\n" for line in shown) + f"{count}\n"


def _height(line: str) -> int:
    """Return the lines that a terminal makes of one, which it breaks at its edge."""
    return -(-text.display_width(line) // text.WIDTH)


def _first_screen(lines: Sequence[str], room: int) -> list[str]:
    """Return the first lines, at least one, that fit some lines of a terminal."""
    heights = accumulate(map(_height, lines))
    return [line for line, height in zip(lines, heights, strict=True) if height <= room] or [*lines[:1]]


def doubts(problems: Sequence[Problem]) -> str:
    """Return one question for each unusual value, which is most often a mistake."""
    return "".join(f"{hazard_words.doubt(doubt)}\n" for doubt in problems)


def crops(table_of: Mapping[str, Crop], fits: Sequence[Fit] = ()) -> str:
    """Return the crop table by slug; with fits, below it which crop suits which bed."""
    rows = [
        (
            crop.slug,
            crop.name,
            crop.unit,
            text.dli(crop.dli_min_mol_m2_d),
            text.dli(crop.dli_target_mol_m2_d),
            text.dli(crop.dli_max_mol_m2_d),
            "?" if crop.photoperiod_max_h is None else text.hours(crop.photoperiod_max_h),
            _known(crop),
        )
        for crop in sorted(table_of.values(), key=lambda crop: crop.slug)
    ]
    headers = ("crop", "name", "unit", "min", "good", "max", "day", "known")
    note = text.wrap(
        "min, good, max: light of a day (DLI) in mol/m². day: the longest day it tolerates before it"
        " bolts or suffers; ? is unknown. known: how many of its values are in print; the rest are a"
        " relative's, common practice, from memory or assumed: cropcal crops --sources NAME."
    )
    names = {crop.slug: crop.name for crop in table_of.values()}
    suits = text.section("In your beds", verdicts(fits, names)) if fits else ""
    return f"{text.table(headers, rows, 'klkrrrrr')}\n\n{note}\n{suits}"


def _known(crop: Crop) -> str:
    printed = sum(source.known in IN_PRINT for source in crop.sources.values())
    return f"{printed}/{len(crop.sources)}"


def when(forecast: Forecast, names: Mapping[str, str]) -> str:
    """Return the forecast of one sowing with 80 % ranges in brackets."""
    cuts = [
        (
            str(cut.cut),
            text.day(cut.ready.middle),
            text.range_days(cut.ready),
            text.grams(cut.g_per_plant.middle),
            text.amount_range(cut.g_per_plant.low, cut.g_per_plant.high, "g"),
        )
        for cut in forecast.cuts
    ]
    headers = ("cut", "ready", "likely between", "g a plant", "likely between")
    return (
        f"{forecast_facts(forecast, names)}\n"
        + text.section("Cuts", text.table(headers, cuts, "rllrr") if len(cuts) > 1 else "")
        + text.section("Watch out", text.bullets(forecast.warnings))
        + text.section("Assumptions", assumptions(forecast.assumptions))
    )


def forecast_facts(forecast: Forecast, names: Mapping[str, str]) -> str:
    """Return days and amounts of one sowing, to its first cut."""
    name = crop_name(forecast.crop, names)
    where = f"{forecast.bed}, after {forecast.nursery}" if forecast.nursery else forecast.bed
    rows = [
        ("sown", text.day_year(forecast.sown)),
        ("up", text.middle_days(forecast.emergence)),
        ("move", text.day(forecast.transplant) if forecast.transplant else "none: it stays where it is sown"),
        ("ready", f"{text.middle_days(forecast.ready)}, cut by {text.day(forecast.ready_until)}"),
        ("a plant", text.middle_range(forecast.g_per_plant, "g")),
        ("a site", text.middle_range(forecast.g_per_site, "g")),
    ]
    facts = "\n".join(text.wrap(fact, first=f"  {key:<8} ", later=" " * 11) for key, fact in rows)
    return f"{text.wrap(f'{name} in {where}')}\n{facts}\n{IN_BRACKETS}"


def written(folder: str, files: Sequence[str]) -> str:
    """Return the folder and names of the files written."""
    return text.section(
        f"Written to {text.clean(folder)}", text.wrap(", ".join(files), first="  ", later="  ")
    )

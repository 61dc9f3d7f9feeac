"""What ``crops`` and ``when`` say first."""

from collections.abc import Mapping, Sequence

from cropcal.records.crop import Crop
from cropcal.records.fit import Fit
from cropcal.records.forecast import Forecast
from cropcal.show import text
from cropcal.show.glance.fitting import ScreenPart, sentence, warning_block
from cropcal.show.glance.light import best_fits
from cropcal.show.terminal.basics import forecast_facts
from cropcal.show.terminal.light import VERDICTS

COLUMNS = 3


def crops_glance(table_of: Mapping[str, Crop], fits: Sequence[Fit] = ()) -> list[ScreenPart]:
    """Return the crops with the light that each likes best; with fits, those of each verdict."""
    if fits:
        return _by_verdict(best_fits(fits))
    crops = sorted(table_of.values(), key=lambda crop: crop.slug)
    each = [f"{crop.slug} {text.dli(crop.dli_target_mol_m2_d)}" for crop in crops]
    tall = -(-len(each) // COLUMNS)
    width = max(map(text.display_width, each), default=0) + 2
    rows = (each[at::tall] for at in range(tall))
    lines = tuple("".join(f"{cell:<{width}}" for cell in row).rstrip() for row in rows)
    head = f"{len(crops)} crops, each with the light of a day (mol/m²) at which it grows best"
    return [
        ScreenPart(lines, head),
        ScreenPart(("Where a crop's values come from: cropcal crops --sources NAME",)),
    ]


def _by_verdict(best: Sequence[Fit]) -> list[ScreenPart]:
    """Return the crops of each verdict, each judged in its best bed; why where it is not good."""
    blocks = []
    for verdict, words in VERDICTS.items():
        crops = [fit for fit in best if fit.verdict == verdict]
        title = f"{words[0].upper()}{words[1:]} ({len(crops)} of {len(best)})"
        if crops and verdict == "ok":
            listed = text.wrap(", ".join(sorted(fit.crop for fit in crops)), first="  ", later="  ")
            blocks.append(ScreenPart(tuple(listed.split("\n")), title))
        elif crops:
            rows = tuple(sentence(f"{fit.crop}, {fit.bed}: {fit.why}", 2, "  ") for fit in crops)
            blocks.append(ScreenPart(rows, title))
    return blocks


def when_glance(forecast: Forecast, names: Mapping[str, str]) -> list[ScreenPart]:
    """Return days and amounts of one sowing, its first cuts, and the gravest warning."""
    cuts = tuple(
        f"  {cut.cut}: {text.middle_days(cut.ready)}, {text.middle_range(cut.g_per_plant, 'g')} a plant"
        for cut in forecast.cuts
    )
    return [
        ScreenPart((), forecast_facts(forecast, names)),
        warning_block(forecast.warnings, rows=len(forecast.warnings)),
        ScreenPart(cuts, "Cuts") if len(cuts) > 1 else ScreenPart(()),
    ]

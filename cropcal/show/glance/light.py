"""What ``cropcal light`` says first: a line a bed, a line a wanted crop, the gravest warning."""

from collections.abc import Mapping, Sequence

from cropcal.records.fit import Cures, Fit
from cropcal.records.plan import BedLight
from cropcal.show import cure_words, text
from cropcal.show.glance.fitting import ScreenPart, sentence, table_block, warning_block
from cropcal.show.terminal.light import VERDICTS
from cropcal.show.wording import crop_name, lamp_hours, light_chances

RANK = {verdict: rank for rank, verdict in enumerate(VERDICTS)}
"""Verdicts from best to worst."""


def light_glance(
    lights: Sequence[BedLight],
    fits: Sequence[Fit],
    names: Mapping[str, str],
    crowded: Sequence[str],
    cures: Cures,
    currency: str | None,
) -> list[ScreenPart]:
    """Return what matters first; the arguments are those of ``light``."""
    best = best_fits(fits)
    return [
        ScreenPart((), "\n".join(_answer(best, cures, names))),
        _beds(lights),
        _crops(best, names, cures, currency),
        warning_block([*_odd_light(lights), *crowded]),
    ]


def best_fits(fits: Sequence[Fit]) -> list[Fit]:
    """Return the verdict on each crop in its best bed, crops in their order."""
    crops: dict[str, list[Fit]] = {}
    for fit in fits:
        crops.setdefault(fit.crop, []).append(fit)
    return [
        min(beds, key=lambda fit: (RANK[fit.verdict], -(fit.chance_right or 0.0))) for beds in crops.values()
    ]


def _answer(best: Sequence[Fit], cures: Cures, names: Mapping[str, str]) -> list[str]:
    """Return whether wanted crops grow well, and the lamps that are too weak for them."""
    if not best:
        return ["No crop is wanted yet, so this is the light alone."]
    well = sum(fit.verdict == "ok" for fit in best)
    count = "All" if well == len(best) > 1 else f"{well} of {len(best)}"
    crops = "wanted crop grows" if len(best) == 1 else "wanted crops grow"
    weak = [sentence(cure_words.too_weak(zone, names)) for zone in cures.too_weak]
    return [f"{count} {crops} well here, each in its best bed.", *weak]


def _beds(lights: Sequence[BedLight]) -> ScreenPart:
    rows = [
        (
            bed.bed,
            text.ppfd(bed.ppfd_umol_m2_s),
            "by month" if bed.halves else text.dli(bed.dli_mol_m2_d()),
            lamp_hours(bed),
            text.known_to(bed.sd_ln),
        )
        for bed in lights
    ]
    headers = ("bed", "PPFD µmol/m²/s", "DLI mol/m²/d", "lit", "within")
    return table_block(headers, rows, "lrrrr")


def _crops(best: Sequence[Fit], names: Mapping[str, str], cures: Cures, currency: str | None) -> ScreenPart:
    """Return a line a crop, the worst first: verdict, bed and why; below a bad one its first cure."""
    worst_first = sorted(best, key=lambda fit: -RANK[fit.verdict])
    return ScreenPart(
        tuple(_crop(fit, names, cures, currency) for fit in worst_first),
        kind=", which do as well or better",
    )


def _crop(fit: Fit, names: Mapping[str, str], cures: Cures, currency: str | None) -> str:
    why = "; ".join([fit.why, *light_chances(fit)])
    head = f"{crop_name(fit.crop, names)}: {VERDICTS[fit.verdict]} in {text.clean(fit.bed)}"
    line = sentence(f"{head}; {why}" if why else head, 1)
    computed = cures.of(fit.crop, fit.bed)
    cure = cure_words.words(computed[0], names, currency) if computed else fit.cure
    return f"{line}\n{sentence(f'cure: {cure}', 3, '  ')}" if cure else line


def _odd_light(lights: Sequence[BedLight]) -> list[str]:
    """Return what cannot be right about readings, where they and the lamp disagree, and other warnings."""
    slips = [f"{bed.bed}: {slip}" for bed in lights for slip in bed.slips]
    disagree = [
        f"readings of {bed.bed} came to {bed.check.ratio:.2f} of what the lamp should give"
        for bed in lights
        if bed.check and not bed.check.agrees
    ]
    warnings = [f"{bed.bed}: {warning}" for bed in lights for warning in bed.warnings]
    return [*slips, *disagree, *warnings]

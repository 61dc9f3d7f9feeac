"""What `cropcal light` prints: the light of each bed, how it is known, and how crops suit it.

Every function returns text that ends in a newline, or a part of one.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence

from cropcal.records.daylight import MONTHS
from cropcal.records.fit import Cures, Fit, LightCheck, Rise
from cropcal.records.plan import BedLight
from cropcal.records.space import Assumption
from cropcal.show import cure_words, text
from cropcal.show.wording import assumptions, crop_name, lamp_hours, reason

VERDICTS = {
    "ok": "grows well",
    "slow": "grows slowly",
    "risk": "at risk",
    "no": "not suitable",
}

WITH_SUN = "Lamp and sun, mol/m² a day, and lamp hours"

UNEXPLAINED = (
    "no usual cause explains such a gap: do watts and count cover all lamps over the bed, and is the reading"
    " in the unit that the file gives?",
)

NO_CURES = Cures()

BRIGHTER = 1.1
"""A grown crop with less than this many times the light of a young one is not shown."""


def light(
    lights: Sequence[BedLight],
    fits: Sequence[Fit],
    names: Mapping[str, str],
    rises: Sequence[Rise] = (),
    air: Sequence[Assumption] = (),
    crowded: Sequence[str] = (),
    damp: Sequence[str] = (),
    cures: Cures = NO_CURES,
    command: str = "cropcal light",
    currency: str | None = None,
) -> str:
    """Return PPFD and DLI a bed, then how each crop suits it; lamps that are too weak come first.

    ``names``: slug -> name of the crop; ``air``: what was taken for granted about the zones' air;
    ``crowded``: a line for each crop and bed where plants stand too close; ``damp``: what the humidity may
    do; ``command``: what to type to try a cure, without its ``--set``; ``currency``: None without a tariff.
    """
    rows = [
        (
            bed.bed,
            _low_mean_high(text.ppfd, bed, bed.ppfd_umol_m2_s, bed.site_ppfd_umol_m2_s),
            "by month"
            if bed.halves
            else _low_mean_high(
                text.dli, bed, bed.dli_mol_m2_d(), map(bed.dli_mol_m2_d, bed.site_ppfd_umol_m2_s)
            ),
            lamp_hours(bed),
            _uniformity(bed),
            text.known_to(bed.sd_ln),
            bed.source,
        )
        for bed in lights
    ]
    headers = ("bed", "PPFD µmol/m²/s", "DLI mol/m²/d", "lit", "even", "within", "based on")
    note = text.wrap(
        "PPFD: light on the leaves at any moment. DLI: light of a whole day. Darkest site/mean/brightest, or"
        " one mean for all. even: darkest site as a share of the mean, ? unknown. within: how far off"
        " the mean may be, in four cases out of five."
    )
    taken = [*(item for bed in lights for item in bed.assumed), *air]
    return (
        cure_words.first_lines(cures, names)
        + f"{text.table(headers, rows, 'lrrrrrl')}\n\n{note}\n"
        + text.section("How the light is known", _bullets_by_text(lights, _source_of_light))
        + "".join(_disagreement(bed.bed, bed.check) for bed in lights if bed.check and not bed.check.agrees)
        + text.section(WITH_SUN, with_sun(lights))
        + text.section("Watch out", _what_is_odd(lights))
        + text.section("How to know it better", _bullets_by_text(lights, _what_to_find_out))
        + text.section("Crop by crop", verdicts(fits, names, cures, command, currency))
        + text.section("Room for plants", text.bullets(crowded))
        + text.section("Damp and dry air", text.bullets(damp))
        + text.section("Light when grown", _rises(rises, names))
        + text.section("Assumptions", assumptions(taken))
    )


def _low_mean_high(write: Callable[[float], str], bed: BedLight, mean: float, sites: Iterable[float]) -> str:
    """Return "160/207/242", or the mean alone where the sites are not known apart."""
    if not bed.sites_known:
        return write(mean)
    values = list(sites)
    return "/".join(map(write, (min(values), mean, max(values))))


def _uniformity(bed: BedLight) -> str:
    known = bed.uniformity_min_over_mean
    return "?" if known is None else f"{known:.2f}"


def with_sun(lights: Sequence[BedLight]) -> str:
    """Return the light of lamp and sun of each bed with a window, and its lamp's hours, by month."""
    lamps = {bed.zone: bed.halves for bed in lights if bed.halves}
    rows = [
        (bed.bed, *(text.plain(value, 0) for value in bed.months_with_sun_mol_m2_d))
        for bed in lights
        if bed.halves
    ]
    for zone, halves in lamps.items():
        lamp_h = [
            (first_half.lamp_h + second_half.lamp_h) / 2
            for first_half, second_half in zip(halves[::2], halves[1::2], strict=True)
        ]
        rows.append((f"lamp h, {zone}", *(text.plain(value, 0) for value in lamp_h)))
    return text.table(("bed", *MONTHS), rows, "l" + "r" * 12) if rows else ""


def _source_of_light(bed: BedLight) -> str:
    if bed.source != "watts":
        return bed.how
    low, high = (text.grams(value) for value in bed.range_80_umol_m2_s)
    return f"about {text.grams(bed.ppfd_umol_m2_s)} µmol, somewhere between {low} and {high}; {bed.how}"


def _disagreement(bed: str, check: LightCheck) -> str:
    """Return the section on readings that disagree with the lamp: the ratio and likely causes."""
    head = text.wrap(
        f"{check.ratio:.2f} of the {text.ppfd(check.computed_umol_m2_s)} µmol that the lamp should give;"
        f" {check.low_80:.2f} to {check.high_80:.2f} would be normal. The readings are used."
        f"{' Likeliest first:' if check.causes else ''}"
    )
    return text.section(
        f"Readings of {bed} and the lamp disagree", f"{head}\n{text.bullets(check.causes or UNEXPLAINED)}"
    )


def _what_is_odd(lights: Sequence[BedLight]) -> str:
    """Return what cannot be right about readings, then what else to know about them."""
    slips = text.bullets(f"{bed.bed}: {slip}" for bed in lights for slip in bed.slips)
    return "\n".join(filter(None, (slips, _bullets_by_text(lights, lambda bed: "; ".join(bed.warnings)))))


def _what_to_find_out(bed: BedLight) -> str:
    """Return the measurements that would narrow a bed's light, each with the spread it would leave."""
    if not bed.narrower:
        return ""
    ways = "; ".join(f"{way.find}: {text.known_to(way.sd_ln)}" for way in bed.narrower)
    return f"now {text.known_to(bed.sd_ln)}; {ways}"


def _bullets_by_text(lights: Sequence[BedLight], text_of: Callable[[BedLight], str]) -> str:
    """Return one bullet for each distinct text with its beds; beds with an empty text are left out."""
    beds: dict[str, list[str]] = {}
    for bed in lights:
        beds.setdefault(text_of(bed), []).append(bed.bed)
    return text.bullets(f"{', '.join(names)}: {content}" for content, names in beds.items() if content)


def _rises(rises: Sequence[Rise], names: Mapping[str, str]) -> str:
    """Return one bullet for each bed: its PPFD at planting and that of each crop when grown."""
    beds: dict[str, list[Rise]] = {}
    for rise in rises:
        if rise.grown_umol_m2_s >= BRIGHTER * rise.planted_umol_m2_s:
            beds.setdefault(rise.bed, []).append(rise)
    lines = []
    for bed, group in beds.items():
        crops = ", ".join(
            f"{crop_name(rise.crop, names)} {text.ppfd(rise.grown_umol_m2_s)}"
            f" ({text.plain(rise.nearer_m * 100, 0)} cm nearer{', too bright' if rise.too_bright else ''})"
            for rise in group
        )
        lines.append(f"{bed}: {text.ppfd(group[0].planted_umol_m2_s)} µmol when planted; grown: {crops}")
    return text.bullets(lines)


def verdicts(
    fits: Sequence[Fit],
    names: Mapping[str, str],
    cures: Cures = NO_CURES,
    command: str = "",
    currency: str | None = None,
) -> str:
    """Return verdict, crop and bed of each fit, with the reason, the cures and how to try them below it."""
    room = max((text.display_width(crop_name(fit.crop, names)) for fit in fits), default=0)
    blocks = []
    for fit in fits:
        name = crop_name(fit.crop, names)
        pad = " " * (min(room, 36) - text.display_width(name))
        blocks.append(text.clip(f"{fit.verdict:<4}  {name}{pad}  {text.clean(fit.bed)}", text.WIDTH))
        blocks += [text.wrap(reason(fit), first="      ", later="      ")] if fit.why else []
        computed = cures.of(fit.crop, fit.bed)
        if fit.cure and not computed:
            blocks.append(text.wrap(fit.cure, first="      cure: ", later="            "))
        for number, cure in enumerate(computed):
            said, head = cure_words.words(cure, names, currency), "      or: " if number else "      cure: "
            first, *more = cure_words.try_it(cure, command)
            blocks += [text.wrap(said, first=head, later="            "), f"            try: {first}"]
            blocks += [f"                 {line}" for line in more]
    meaning = "; ".join(f"{verdict}: {words}" for verdict, words in VERDICTS.items())
    return "\n".join([*blocks, "", meaning]) if blocks else ""

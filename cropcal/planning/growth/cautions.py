"""Cautions, warnings and assumptions that go with the numbers."""

import numpy as np

from cropcal.planning.growth.alike import grouped
from cropcal.planning.growth.crop_constants import days_to_emerge, home_ln_speed, stand_share
from cropcal.planning.growth.crop_in_bed import suits_bed
from cropcal.planning.growth.pace import UNLEARNED, Pace, Paces
from cropcal.planning.power.lamp_hours import lit_stretches, quiet_warning
from cropcal.planning.power.quiet_loads import loud_loads
from cropcal.planning.site.air import fan_warning, room_notes, zone_air
from cropcal.planning.site.humidity import humidity_warnings
from cropcal.records.crop import KNOWN_WORDS, Crop, CropTables, cut_at
from cropcal.records.fit import Fit
from cropcal.records.hazard import GENERAL_CAUTIONS
from cropcal.records.plan import BedLight
from cropcal.records.space import Assumption, Space, Zone
from cropcal.records.value_words import VALUE_WORDS, amount
from cropcal.science.chance import LOSS_SHARE, MINIMUM_SHARE
from cropcal.science.growth import PLANT_CV
from cropcal.science.learning import HARVEST_SD
from cropcal.units import Z_80, known_to

CAUTIONS = tuple(GENERAL_CAUTIONS.values())

SEEDLING_DLI_MOL_M2_D = 5.0
"""Daily light below which a nursery is warned about (assumed; 8 to 14 for seedlings: Ebba J., University of
New Hampshire Extension)."""

POOR_STAND = 0.6
"""Share of normal seedlings below which a warning is due (assumed)."""

GRANTED = Assumption(
    key="growing",
    value="water, nutrients, pH and pests are in order",
    why="the forecasts do not cover them",
)

RISE = Assumption(
    key="light as plants grow",
    value="counted at the height of young plants",
    why="on the safe side: grown plants are nearer to the lamp and get more",
)

PLUGS = Assumption(
    key="bought young plants",
    value="as large as seedlings of their age in the light of the book's harvests",
    why="assumed: a nursery raises them well",
)

ORDINARY_ROOM = "assumed: crops at home grow a little slower at first than in a usual trial"
BEST_ROOM = (
    "the book's harvest comes from a room with added CO2; six rooms of skilled growers were that much slower,"
    " Bleiswijk 2022"
)

NOT_LISTED = ("photoperiod_reason", "emergence_curve")
"""Columns of texts too long or too bare for a list of assumptions."""

MET = Assumption(
    key="a week that is met",
    value=f"heads count from {MINIMUM_SHARE:.0%} of the mass in the crop table; {LOSS_SHARE:.0%} of plants"
    f" are lost; plants of a batch differ by {PLANT_CV:.0%}, batches by {HARVEST_SD:.0%}; you cut what is"
    " ready, and late heads keep growing within their window",
    why="assumed; that plants differ is a little less than in the lettuces of Hemming et al. 2021",
)


def cautions() -> tuple[str, ...]:
    """Return the general cautions: mains power, lamps, food."""
    return CAUTIONS


def warnings(
    space: Space, tables: CropTables, lights: tuple[BedLight, ...], verdicts: tuple[Fit, ...]
) -> tuple[str, ...]:
    """Return what may go wrong: verdicts that are not ok, warm seed, lamps in quiet hours, damp air.

    What is dangerous comes from ``hazards``.
    """
    lines = grouped(("", light.bed, slip) for light in lights for slip in light.slips)
    lines += verdict_warnings(verdicts, tables)
    lines += grouped(("", light.bed, dim) for light in lights if (dim := _dim_nursery(light, space)))
    sown = {slug for want in space.wants if not want.plugs for slug in want.crops}
    for crop in (crop for crop in wanted_crops(space, tables) if crop.slug in sown):
        for zone in _sown_in(crop, space):
            line = seed_warning(crop, tables, zone_air(zone, space.fixtures).mean_c, zone.name)
            lines += [line] if line else []
    for zone in space.zones:
        quiet = (
            quiet_warning(zone, lit_stretches(zone, space.tariff)),
            fan_warning(zone, space.fixtures),
        )
        lines += [*filter(None, quiet), *loud_loads(space, zone)]
    return tuple(dict.fromkeys([*lines, *humidity_warnings(space)]))


def verdict_warnings(verdicts: tuple[Fit, ...], tables: CropTables) -> list[str]:
    """Return the risks of each crop, untested light too; one line for all beds with the same text."""
    rows = []
    for fit in verdicts:
        if fit.verdict in ("risk", "no") or (fit.chance_enough is not None and fit.chance_enough < 0.5):
            text = fit.why + (f". Cure: {fit.cure}" if fit.cure else "")
            rows.append((tables.crops[fit.crop].name, fit.bed, text))
    return grouped(rows)


def _dim_nursery(light: BedLight, space: Space) -> str:
    """Return a warning where seedlings get too little light to grow stocky, else nothing."""
    if space.bed(light.bed).kind != "nursery" or light.dli_mol_m2_d() >= SEEDLING_DLI_MOL_M2_D:
        return ""
    dli = light.dli_mol_m2_d()
    return f"{dli:.1f} mol a day; seedlings want 8 to 14 and get long thin stems with much less"


def _sown_in(crop: Crop, space: Space) -> tuple[Zone, ...]:
    """Return the zones in which a crop's seed lies: the nursery's if it has one, else its beds'."""
    nurseries = [bed for bed in space.beds if bed.kind == "nursery"] if crop.nursery_d else []
    beds = nurseries or [bed for bed in space.beds if suits_bed(crop, bed)]
    return tuple(space.zone(name) for name in dict.fromkeys(bed.zone for bed in beds))


def seed_warning(crop: Crop, tables: CropTables, air_c: float, zone: str) -> str | None:
    """Return a warning where few or no seeds make seedlings at that temperature."""
    if crop.kind == "shoots":
        return None
    days = days_to_emerge(crop, tables, air_c)
    if not np.isfinite(days):
        return f"{crop.name} in {zone}: no seed is known to come up at {air_c:.0f} °C"
    stand = stand_share(crop, tables, air_c)
    if np.isfinite(stand) and stand < POOR_STAND:
        return (
            f"{crop.name} in {zone}: at {air_c:.0f} °C only about {stand:.0%} of seeds make normal"
            " seedlings; start them somewhere cooler"
        )
    return None


def wanted_crops(space: Space, tables: CropTables) -> tuple[Crop, ...]:
    """Return the crops that any want names, in the order of the file."""
    slugs = dict.fromkeys(slug for want in space.wants for slug in want.crops)
    return tuple(cut_at(tables.crops[slug], space.cut_at(slug)) for slug in slugs)


def assumptions(
    space: Space,
    tables: CropTables,
    lights: tuple[BedLight, ...],
    nursery_gain: str = "",
    paces: Paces | None = None,
) -> tuple[Assumption, ...]:
    """Return all assumptions, those for gaps in the file first."""
    items = [*space.assumed]
    items += [item for light in lights for item in light.assumed]
    items += room_notes(space)
    items += [
        Assumption(
            key=f"light of {light.bed}",
            value=f"known to within {known_to(light.sd_ln)}, in four cases out of five",
            why=f"from {light.how}",
        )
        for light in lights
    ]
    items.append(RISE)
    for crop in wanted_crops(space, tables):
        beds = [bed for bed in space.beds if suits_bed(crop, bed) and crop.kind != "shoots"]
        items += [speed_assumption(crop, (paces or {}).get((crop.slug, bed.name), UNLEARNED)) for bed in beds]
    items += [item for crop in wanted_crops(space, tables) for item in crop_assumptions(crop)]
    items += [PLUGS] if any(want.plugs for want in space.wants) else []
    items.append(GRANTED)
    if space.wants:
        items.append(MET)
    if nursery_gain:
        items.append(Assumption(key="nursery", value="none: everything is sown in place", why=nursery_gain))
    return tuple(dict.fromkeys(items))


def speed_assumption(crop: Crop, pace: Pace) -> Assumption:
    """Return the assumed growth rate of a crop relative to the book, and its source."""
    middle, factor = home_ln_speed(crop) + pace.ln_speed, Z_80 * pace.sd_ln_speed
    low, high = np.exp(middle - factor), np.exp(middle + factor)
    value = f"{np.exp(middle):.0%} of the book's, likely {low:.0%} to {high:.0%}"
    if pace == UNLEARNED:
        return Assumption(
            key="speed" if crop.anchor_co2 != "enriched" else f"speed of {crop.name}",
            value=value,
            why=BEST_ROOM if crop.anchor_co2 == "enriched" else ORDINARY_ROOM,
        )
    return Assumption(
        key=f"speed of {crop.name}", value=value, why="learned from the journal: cropcal learned"
    )


def crop_assumptions(crop: Crop) -> tuple[Assumption, ...]:
    """Return the values of a crop that nobody printed, if any; of common practice only the groups."""
    weak: dict[str, list[str]] = {}
    for column, source in crop.sources.items():
        if source.is_weak and column not in NOT_LISTED:
            words = VALUE_WORDS[column]
            is_practice = source.known == "practice"
            shown = words.group if is_practice else f"{words.name} {amount(crop, column)}"
            weak.setdefault(KNOWN_WORDS[source.known], []).append(shown)
    if not weak:
        return ()
    value = "; ".join(
        f"{word}: {', '.join(dict.fromkeys(weak[word]))}" for word in KNOWN_WORDS.values() if word in weak
    )
    return (Assumption(key=crop.name, value=value, why="not in print"),)

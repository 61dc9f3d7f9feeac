"""The list of cautions: a function each, from the facts of a space to the caution, None where none is due.

To add one, add its code to ``records.hazard``, a function here, its name to ``RULES``, and its words to
``show.care_words``. Each says beside it where it comes from. They are reminders and no rules: each names who
has the last word.
"""

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from typing import Final

from cropcal.planning.care.facts import (
    MOULD_WORDS,
    SOLUTION_WORDS,
    WATER_CM,
    Situation,
    has_word,
)
from cropcal.records.crop import CropTables
from cropcal.records.hazard import Authority, Caution, LampDanger
from cropcal.records.journal import Entry
from cropcal.records.space import Space

Condition = Callable[[Situation], Caution | None]

SHELF_KG: Final = 20.0
"""Water on one lit floor from which a shelf is asked about: household shelves are made for some 15 to 50 kg
(common practice)."""

MOULD_D: Final = 60
"""Days for which a note of mould counts (assumed)."""


def cautions(
    space: Space, tables: CropTables, events: Sequence[Entry] = (), on: date | None = None
) -> tuple[Caution, ...]:
    """Return every caution that holds in a space, the three general ones first.

    Parameters
    ----------
    space
        The space; zones without lamp hours are not looked at for lamps at night.
    tables
        The crops, lamps and allergens.
    events
        The entries of the journal that hold.
    on
        The day on which it is asked, for how recent a note is; None: the first day of the plan.
    """
    here = Situation(space, tables, events, on or space.settings.start)
    held = (condition(here) for condition in RULES)
    return tuple(caution for caution in held if caution is not None)


def mains(_: Situation) -> Caution:
    """Hold always, for mains power beside water (common practice; wiring rules of each country)."""
    return Caution(code="mains", ask=("local codes", "licensed practice"))


def lamps(_: Situation) -> Caution:
    """Hold always, for hot and bright lamps, fire and the first run (common practice)."""
    return Caution(code="lamps", ask=("maker", "local codes"))


def food(_: Situation) -> Caution:
    """Hold always, for clean hands, tools and water, and cold (common practice)."""
    return Caution(code="food", ask=("food authority",))


def added_co2(here: Situation) -> Caution | None:
    """Look for zones with added CO2.

    At work 5000 ppm over eight hours is the limit of the US (29 CFR 1910.1000, table Z-1; from memory).
    """
    zones = tuple(zone.name for zone in here.space.zones if zone.co2 == "enriched")
    return Caution(code="added CO2", ask=("licensed practice", "local codes"), zones=zones) if zones else None


def hot_glass(here: Situation) -> Caution | None:
    """Look for lamps whose bulb stays hot for long, and may burst when wet (common practice)."""
    return _of_lamps(here, "hot glass", ("maker",))


def ultraviolet(here: Situation) -> Caution | None:
    """Look for lamps that give out short-wave ultraviolet once the outer glass breaks (21 CFR 1040.30)."""
    return _of_lamps(here, "ultraviolet", ("maker",))


def mercury(here: Situation) -> Caution | None:
    """Look for lamps with mercury.

    They are fluorescent, high-pressure sodium and metal halide ones (EPA fact sheet EPA530-F-94-022, 1994).
    """
    return _of_lamps(here, "mercury", ("waste service", "maker"))


def _of_lamps(here: Situation, danger: LampDanger, ask: tuple[Authority, ...]) -> Caution | None:
    kinds, zones = here.lamps_with(danger)
    return Caution(code=danger, ask=ask, lamps=kinds, zones=zones) if kinds else None


def lamps_at_night(here: Situation) -> Caution | None:
    """Look for lamps that are on while people sleep, by their hours (common practice)."""
    nights = here.nights_min
    zones = tuple(name for name, minutes in nights.items() if minutes)
    if not zones:
        return None
    most = max(nights.values()) / 60
    return Caution(code="lamps at night", ask=("local codes", "maker"), zones=zones, hours=most)


def weight_of_water(here: Situation) -> Caution | None:
    """Look for boxes of so much water that the shelf must be made for it: a litre weighs a kilogram."""
    litres = {zone.name: here.water_l(zone) for zone in here.space.zones}
    heavy = {name: amount for name, amount in litres.items() if amount >= SHELF_KG}
    if not heavy:
        return None
    fullest = max(heavy, key=lambda name: heavy[name])
    return Caution(
        code="weight of water",
        ask=("maker", "licensed practice"),
        zones=tuple(heavy),
        litres=heavy[fullest],
        kg=heavy[fullest],
        assumed_cm=None if here.space.zone(fullest).tank_l else WATER_CM,
    )


def solution(here: Situation) -> Caution | None:
    """Look for a tank, or a chore or load that names nutrients, acids or old solution (common practice)."""
    chores = tuple(chore.name for chore in here.space.chores if has_word(SOLUTION_WORDS, chore.name))
    loads = any(has_word(SOLUTION_WORDS, load.name) for load in here.space.loads)
    tanks = any(zone.tank_l for zone in here.space.zones)
    if not chores and not loads and not tanks:
        return None
    return Caution(code="solution", ask=("maker", "waste service", "local codes"), chores=chores)


def food_grade_seed(here: Situation) -> Caution | None:
    """Look for shoots and microgreens, which come up with what their seed was treated with, or carries.

    Treated seed says so on its packet (7 CFR 201.31a); dry seed is the most likely source of outbreaks by
    sprouts (EFSA Journal 2011;9(11):2424, abstract).
    """
    crops = _slugs(here)
    return Caution(code="food-grade seed", ask=("food authority", "maker"), crops=crops) if crops else None


def raw_shoots(here: Situation) -> Caution | None:
    """Look for shoots and microgreens, and for people who must not fall ill.

    The EFSA counts sprouts, shoots and cress as sprouted seed of concern (EFSA Journal 2011;9(11):2424). The
    FDA advises children, the old, pregnant women and people with weak defences against raw sprouts (read
    second-hand); it counts microgreens, cut later and above the roots, as other produce (80 FR 74353, comment
    363; read second-hand, University of New Hampshire Extension 2021). So this errs on the careful side.
    """
    crops = _slugs(here)
    eaten_by = here.space.care.eaten_by
    if not crops:
        return None
    return Caution(code="raw shoots", ask=("food authority", "doctor"), crops=crops, eaten_by=eaten_by)


def _slugs(here: Situation) -> tuple[str, ...]:
    return tuple(crop.slug for crop in here.seedlings)


def allergens(here: Situation) -> Caution | None:
    """Look for crops that are, or may hold, an allergen of the law.

    The list is annex II of Regulation (EU) No 1169/2011; other countries have other lists.
    """
    held = here.allergens
    if not held:
        return None
    crops = tuple(dict.fromkeys(row.crop for row in held))
    return Caution(
        code="allergens",
        ask=("food authority", "doctor"),
        crops=crops,
        allergens=held,
        eaten_by=here.space.care.eaten_by,
    )


def served_to_others(here: Situation) -> Caution | None:
    """Look for food for others: hygiene rules hold, and often a duty to register.

    In the EU all but primary production and preparation for private domestic use (Regulation (EC) No
    852/2004, art. 1(2) and 6(2); read second-hand).
    """
    if not here.serves_others:
        return None
    return Caution(
        code="served to others", ask=("food authority", "local codes"), eaten_by=here.space.care.eaten_by
    )


def children(here: Situation) -> Caution | None:
    """Look for children near leads, hot lamps, acids and open water (common practice)."""
    care = here.space.care
    if not care.children and care.eaten_by != "school":
        return None
    return Caution(code="children", ask=("local codes",), eaten_by=care.eaten_by)


def mould(here: Situation) -> Caution | None:
    """Look for mould in the notes of the last two months.

    Mould and damp go with illness of the airways, allergies and asthma (WHO 2009, guidelines for indoor air
    quality: dampness and mould, abstract).
    """
    since = here.on - timedelta(days=MOULD_D)
    noted = [
        event
        for event in here.events
        if since <= event.on <= here.on and has_word(MOULD_WORDS, event.why, event.note)
    ]
    return Caution(code="mould", ask=("doctor",), on=max(event.on for event in noted)) if noted else None


RULES: Final[tuple[Condition, ...]] = (
    mains,
    lamps,
    food,
    added_co2,
    hot_glass,
    ultraviolet,
    mercury,
    lamps_at_night,
    weight_of_water,
    solution,
    food_grade_seed,
    raw_shoots,
    allergens,
    served_to_others,
    children,
    mould,
)
"""Every caution in the order in which it is printed: what burns and falls, what is eaten, people."""

"""Cautions in words: what to do, whom to ask, where it comes from, and on which screen it is printed."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from cropcal.records.hazard import GENERAL_CAUTIONS, Authority, Caution, CautionCode, CropAllergen
from cropcal.records.plan import Job
from cropcal.show import text
from cropcal.show.wording import crop_name

AUTHORITY_WORDS: Final[dict[Authority, str]] = {
    "local codes": "local codes",
    "licensed practice": "a licensed electrician or fitter",
    "food authority": "your food authority",
    "maker": "the maker",
    "waste service": "your waste service",
    "doctor": "a doctor",
}

SCREENS: Final[dict[CautionCode, tuple[str, ...]]] = {
    "added CO2": ("light",),
    "hot glass": ("light",),
    "ultraviolet": ("light",),
    "mercury": ("light",),
    "lamps at night": ("photoperiod",),
    "weight of water": ("solution",),
    "solution": ("solution",),
    "food-grade seed": ("seed",),
    "raw shoots": ("eat",),
    "allergens": ("crops", "eat"),
    "served to others": ("eat",),
    "children": ("people",),
    "mould": ("look",),
}
"""The command (light, photoperiod, crops), or the part of the page and of ``week``, at which each is printed.

``plan --all``, ``cropcal care`` and the page's section of cautions have them all.
"""

PAGE_PARTS: Final = {
    "next": ("solution", "look"),
    "eat": ("eat",),
    "light": ("light",),
    "hours": ("photoperiod",),
}
"""The parts of the page, and whose cautions they have; seed is named where it is bought and sown."""

SOURCES: Final[dict[CautionCode, str]] = {
    "mains": "common practice",
    "lamps": "common practice",
    "food": "common practice",
    "added CO2": "common practice; limit at work in the US: 29 CFR 1910.1000, table Z-1 (from memory)",
    "hot glass": "common practice",
    "ultraviolet": "21 CFR 1040.30; FDA notice to schools on broken metal halide lamps",
    "mercury": "EPA fact sheet EPA530-F-94-022, 1994; EPA on broken lamps (read second-hand)",
    "lamps at night": "common practice",
    "weight of water": "common practice; depth of the water assumed",
    "solution": "common practice",
    "food-grade seed": "7 CFR 201.31a; EFSA Journal 2011;9(11):2424",
    "raw shoots": "EFSA Journal 2011;9(11):2424; advice of the FDA on raw sprouts (read second-hand)",
    "allergens": "Regulation (EU) No 1169/2011, annex II; other countries have other lists",
    "served to others": "Regulation (EC) No 852/2004, art. 1 and 6 (read second-hand), for one",
    "children": "common practice",
    "mould": "WHO 2009, guidelines for indoor air quality: dampness and mould",
}
"""Where each comes from."""

TITLE_WORDS: Final[dict[CautionCode, str]] = {
    "lamps at night": "lamps on at night",
    "weight of water": "weight of the water",
    "solution": "nutrients and acids",
    "served to others": "food for others",
}
"""Names of cautions, where the code alone does not say enough."""

TITLES: Final = 3
"""Cautions that are named in one line, or fewer where there is no room; the others are counted."""

OTHERS: Final = {
    "household": "",
    "guests": "guests",
    "school": "a school",
    "frail": "people who must not fall ill",
}

GENERAL_SHORT: Final[dict[CautionCode, str]] = {
    "mains": "Mains and water: residual-current device, drip loops, off before you reach in.",
    "lamps": "Lamps: keep their clearance, have a smoke alarm, stay for the first run.",
    "food": "Food: clean hands, tools and water; wash what you cut; keep it cold.",
}


def on_screen(cautions: Iterable[Caution], *screens: str) -> tuple[Caution, ...]:
    """Return the cautions that are printed on one of these screens."""
    return tuple(one for one in cautions if set(SCREENS.get(one.code, ())) & set(screens))


def sentences(cautions: Iterable[Caution], names: Mapping[str, str]) -> list[str]:
    """Return each caution in full, with whom to ask."""
    return [f"{words(caution, names)} {ask(caution)}" for caution in cautions]


def ask(caution: Caution) -> str:
    """Return whom to ask, as a sentence."""
    return f"Ask: {', '.join(AUTHORITY_WORDS[who] for who in caution.ask)}."


def form(cautions: Iterable[Caution], names: Mapping[str, str]) -> list[dict[str, Any]]:
    """Return ``care[]``: code, facts, words and source of each."""
    return [
        {**caution.facts(), "words": words(caution, names), "source": SOURCES[caution.code]}
        for caution in cautions
    ]


def of_jobs(cautions: Iterable[Caution], jobs: Sequence[Job]) -> tuple[Caution, ...]:
    """Return the cautions that some jobs call for: what is cut and eaten, mixed or poured away; mould."""
    cut = {job.crop for job in jobs if job.job == "cut"}
    chores = {job.note for job in jobs if job.job == "chore"}
    cautions = tuple(cautions)
    named = {name for caution in cautions for name in caution.chores}
    mixing = any(chore in named or "solution" in chore for chore in chores)

    def is_due(caution: Caution) -> bool:
        match caution.code:
            case "raw shoots" | "allergens":
                return bool(cut & set(caution.crops))
            case "served to others":
                return bool(cut)
            case "solution" | "weight of water":
                return mixing
        return caution.code == "mould"

    return tuple(caution for caution in cautions if is_due(caution))


def page_parts(cautions: Sequence[Caution], names: Mapping[str, str]) -> dict[str, list[str]]:
    """Return a line for each caution by the part of the page that it is printed in."""
    return {
        part: [short(caution, names) for caution in on_screen(cautions, *screens)]
        for part, screens in PAGE_PARTS.items()
    }


CARE_COMMAND = "cropcal care"


def titles(cautions: Sequence[Caution], command: str = CARE_COMMAND) -> str:
    """Return one line that names the cautions, and the command that says more; "" if there are none."""
    line = ""
    for shown in range(min(TITLES, len(cautions)), 0, -1):
        named = ", ".join(TITLE_WORDS.get(caution.code, caution.code) for caution in cautions[:shown])
        more = f" and {len(cautions) - shown} more" if len(cautions) > shown else ""
        line = f"Take care: {named}{more} ({command})"
        if text.display_width(line) <= text.WIDTH:
            return line
    return line if command == CARE_COMMAND else titles(cautions)  # the space's name is too long for it


def short(caution: Caution, names: Mapping[str, str]) -> str:
    """Return one caution in a line."""
    if caution.is_general:
        return GENERAL_SHORT[caution.code]
    where, what = _in_brackets(_listed(caution.zones)), _in_brackets(_crops(caution, names))
    match caution.code:
        case "added CO2":
            return f"Added CO2: have an alarm, fresh air and a licensed fitter{where}"
        case "hot glass":
            return f"Hot glass: let it cool before you touch it, no water on it{where}"
        case "ultraviolet":
            return f"Ultraviolet if the lamp's glass breaks: switch off, keep away{where}"
        case "mercury":
            return f"Mercury: if a lamp breaks, all leave, then air the room{where}"
        case "lamps at night":
            return f"Lamp on at night: have a smoke alarm that wakes sleepers{where}"
        case "weight of water":
            return f"Water weighs about {caution.kg:.0f} kg: strong shelf, no socket below{where}"
        case "solution":
            return "Nutrients and acids: wear gloves and goggles; ask where old solution may go"
        case "food-grade seed":
            return f"Use untreated food-grade seed only{what}"
        case "raw shoots":
            return f"Raw shoots: not for small children, pregnant, old or ill people{what}"
        case "allergens":
            return f"Allergens: {_found(caution, names)}"
        case "served to others":
            return f"Food for {_others(caution)}: local food-hygiene rules apply"
        case "children":
            return "Children: keep leads, lamps, acids and tanks out of reach"
        case "mould":
            return f"Mould{_on(caution)}: throw it away whole, clean and dry the place"
    return caution.code


def words(caution: Caution, names: Mapping[str, str]) -> str:
    """Return one caution as sentences; ``names``: slug -> name of the crop."""
    if caution.is_general:
        return GENERAL_CAUTIONS[caution.code]
    where, what = _listed(caution.zones), _crops(caution, names)
    kinds = _listed(caution.lamps)
    match caution.code:
        case "added CO2":
            return (
                f"CO2 is added in {where}: it has no smell or colour, and in a closed room people can faint"
                " before they notice. Have a CO2 alarm where people breathe, air the room before you go in,"
                " let nobody sleep beside it, and have cylinders and burners fitted by somebody licensed. At"
                " work 5000 ppm over eight hours is a usual limit."
            )
        case "hot glass":
            return (
                f"Hot glass ({kinds}, in {where}): the bulb burns skin long after it is off, and may burst if"
                " water drips on it. Let it cool for a quarter of an hour before you touch or change it, and"
                " run it only in the fixture that it is made for."
            )
        case "ultraviolet":
            return (
                f"Ultraviolet ({kinds}, in {where}): if the outer glass is broken, its light burns eyes and"
                " skin within minutes. Switch it off at once and keep away. Take a closed fixture, or a bulb"
                " that goes out by itself when it breaks."
            )
        case "mercury":
            return (
                f"Mercury ({kinds}, in {where}): if a tube or bulb breaks, everybody out, window open, and"
                " wait before you clean up; no vacuum cleaner; pieces into a closed jar; do not eat what grew"
                " below. Old ones go to a collection point, not into the bin."
            )
        case "lamps at night":
            return (
                f"Lamp on at night ({where}, up to {text.hours(caution.hours or 0.0)} between 23:00 and"
                " 06:00): if people sleep in the building, have a smoke alarm that they hear and nothing"
                " nearby that can burn, and let it run by day first while somebody watches."
            )
        case "weight of water":
            depth = f" if it is {caution.assumed_cm:g} cm deep (assumed)" if caution.assumed_cm else ""
            return (
                f"Water in {where} weighs about {caution.kg:.0f} kg{depth}: 1 kg a litre. Is the shelf, and"
                " what it is fixed to, made for that? Fill it slowly the first time, and have no socket, plug"
                " or extension lead below: a leak runs down."
            )
        case "solution":
            return (
                "Nutrients, acids and alkalis: read the label, wear gloves and eye protection, pour acid into"
                " water and never water into acid, do not mix concentrates, and lock them away from food and"
                " children. Old solution goes where the local rules let it, never into a stream, a pond or a"
                " street drain."
            )
        case "food-grade seed":
            return (
                f"Seed for {what}: untreated, and sold as food or for sprouting. Garden seed may be treated"
                " with something that must not be eaten; its packet says so. Keep the packet: its lot number"
                " says which seed it was."
            )
        case "raw shoots":
            return _raw_shoots(caution, what)
        case "allergens":
            return _allergens(caution, names)
        case "served to others":
            return (
                f"Food for {_others(caution)}: local food-hygiene rules apply, also in a shared kitchen, and"
                " in many places whoever serves others must be registered. Ask before the first plate; note"
                " what was sown, cut and served when; nobody who is ill handles food."
            )
        case "children":
            return (
                "Children: leads, plugs, hot lamps, acids and tanks out of their reach or locked; never"
                " alone beside open water; an adult mixes, switches and climbs. In a school its own safety"
                " rules come first."
            )
        case "mould":
            return (
                f"Mould was noted{_on(caution)}: throw away whole what is mouldy, do not cut round it; clean"
                " and dry the place, and let more air through. Anyone with asthma, an allergy or a"
                " weak immune system should keep away."
            )
    return caution.code


def _raw_shoots(caution: Caution, what: str) -> str:
    sentence = (
        f"Raw shoots ({what}): germs on the seed grow in the same warmth and wet. Small children, pregnant or"
        " old people and those with a weak immune system should eat them well cooked, or not at all. Cut"
        " above the mat, rinse, keep cold, eat soon."
    )
    if caution.eaten_by in ("school", "frail"):
        return f"{sentence} Such people eat here: do not serve them raw unless the food authority agrees."
    return f"{sentence} Tell guests what they are." if caution.eaten_by == "guests" else sentence


def _allergens(caution: Caution, names: Mapping[str, str]) -> str:
    read = "" if all(row.sure for row in caution.allergens) else " Read the packet."
    tell = (
        " Ask who eats with you."
        if caution.eaten_by == "household"
        else " Say so wherever it is served: in many countries that is law."
    )
    return f"Allergens: {_found(caution, names)}.{read}{tell}"


def _found(caution: Caution, names: Mapping[str, str]) -> str:
    return "; ".join(_allergen(row, names) for row in caution.allergens)


def _allergen(row: CropAllergen, names: Mapping[str, str]) -> str:
    return f"{crop_name(row.crop, names)} {'is' if row.sure else 'may hold'} {row.allergen}"


def _others(caution: Caution) -> str:
    return OTHERS[caution.eaten_by or "household"]


def _crops(caution: Caution, names: Mapping[str, str]) -> str:
    return _listed(tuple(crop_name(slug, names) for slug in caution.crops))


def _in_brackets(listed: str) -> str:
    return f" ({listed})" if listed else ""


def _listed(items: Sequence[str]) -> str:
    return ", ".join(map(text.clean, items))


def _on(caution: Caution) -> str:
    return f" for {text.day_year(caution.on)}" if caution.on else ""

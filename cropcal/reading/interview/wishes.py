"""What somebody wants to eat, as people say it: "3 bowls of salad a week", "two lettuces and some herbs"."""

import re
from collections.abc import Mapping
from difflib import get_close_matches
from typing import NamedTuple

from cropcal.reading.interview.answers import NUMBER, AnswerText, AskBack, ask, number
from cropcal.reading.text.crop_names import MIXES, named_exactly
from cropcal.records.answers import Mix, Wish
from cropcal.records.crop import Crop, CropTables, Unit

BOWLS_EACH = 3
"""Bowls of salad a week for one person, offered where only the number of people is given (assumed)."""
BUNCH_G = 30
"""A bunch of herbs as shops sell it [g] (common practice)."""
WEEKS_PER_MONTH = 52 / 12
_G_IN = {"g": 1.0, "kg": 1000.0, "oz": 28.35, "lb": 453.6}
_UNITS = {
    r"kg|kilos?": "kg", r"g|gr|grams?|grammes?": "g", r"oz|ounces?": "oz", r"lbs?|pounds?": "lb",
    r"heads?": "heads", r"bowls?|portions?|servings?|plates?": "bowls", r"bunch(?:es)?|handfuls?": "bunches",
}  # fmt: skip
_UNIT = "|".join(_UNITS)
_AMOUNT = NUMBER + r"(?:\s*(?:-|to|or)\s*" + NUMBER + rf")?\s*({_UNIT})?(?![\w-])"
_OFTEN = (
    (r"(?:per|a|each|every|/)\s*(?:day|night)\b|daily|everyday", 7.0),
    (r"twice(?:\s+(?:a|per|each|every)\s+week|\s+weekly)?", 2.0),
    (r"once(?:\s+(?:a|per|each|every)\s+week|\s+weekly)?", 1.0),
    (r"(?:every|per|in)\s+(?:2|other)\s+weeks?\b|fortnightly|(?:a|per)\s+fortnight\b", 0.5),
    (r"(?:per|a|each|every|/)\s*month\b|monthly", 1 / WEEKS_PER_MONTH),
    (r"(?:per|a|each|every|/|in a|in der)\s*week\b|weekly|per\s+wk\b", 1.0),
)
_ANY_OFTEN = "|".join(pattern for pattern, _ in _OFTEN)
_FILLERS = (
    "some of a an few bit lots and fresh green heads maybe also plus mixed please i want would like love to "
    "eat we enough plenty more kinds kind plants plant times my our the any big small nice"
)
LISTED = "; cropcal crops lists them"
_ANYTHING = ("anything", "everything", "whatever", "surprise")
CLOSE = 0.8
"""Likeness from which a name is taken for a slip of the pen of another (assumed)."""


class _Amount(NamedTuple):
    value: float | None
    unit: str
    text: str


def wishes(text: str, tables: CropTables) -> tuple[Wish, ...]:
    """Read which crops are wanted and how much a week: "3 lettuces a week, basil 50 g, salad".

    Crops are named by slug, by name, or by the first word of several ("lettuce": any of its kinds).
    """
    items: list[str] = []
    for part in re.split(r"[;\n&+]|,(?!\d)|\b(?:and|plus|und)\b", _plain(text)):
        if items and re.fullmatch(rf"\s*(?:about\s+)?{_AMOUNT}(?:\s*(?:{_ANY_OFTEN}))?\s*", part):
            items[-1] += f" {part}"  # "basil, 50 g"
        elif part.strip():
            items.append(part)
    if not items:
        ask("no crop is found")
    items[0] = re.sub(r"^\s*(?:per|each|every)\s+week\s*", "", items[0])
    items = [item.strip() for item in items if item.strip()]
    read = []
    for place, item in enumerate(items):
        try:
            read.append(_wish(item, tables))
        except AskBack as error:
            without = [*items[:place], *items[place + 1 :]]
            likely = ", ".join(
                [*items[:place], error.likely, *items[place + 1 :]] if error.likely else without
            )
            message = error.message.removesuffix(LISTED) if likely else error.message
            raise AskBack(message, likely or None) from None
    return tuple(read)


def _plain(text: str) -> str:
    """Return a text in figures, with "2" for "x 2" at the end, and "per week" for "/week"."""
    text = re.sub(r"\s*/\s*(?=week|wk|day|month)", " per ", AnswerText(text).left)
    return re.sub(r"\bx\s*(\d+)\s*(?=$|[,;])", r"\1", text)


def _wish(item: str, tables: CropTables) -> Wish:
    words = AnswerText(item)
    people = words.take(r"for\s+(\d+|me|us)\b(?:\s*(?:people|persons?|of us|adults))?")
    amount = _amount(words)
    names = {" ".join(words.rest()), " ".join(words.rest(_FILLERS))}
    mix = next((mix for mix, called in MIXES.items() if names & {*called}), None)
    if names == {""} and amount.unit == "bowls":
        mix = "salad"
    if mix is None:
        kinds = _crops(item, re.split(r"\s+or\s+|/", " ".join(words.left.split())), tables)
        return _wish_of(item.strip(), kinds, amount, tables.crops)
    if people and amount.value is None:
        count = int(people[1]) if people[1].isdigit() else 1
        unit = "bowls of salad" if mix == "salad" else f"g {mix}"
        ask("how much a week", f"{count * (BOWLS_EACH if mix == 'salad' else BUNCH_G)} {unit}")
    return _wish_of_mix(mix, amount)


def _amount(words: AnswerText) -> _Amount:
    """Take how much a week: a number, its unit, and how often."""
    often = None
    for pattern, by_week in _OFTEN:
        if words.take(rf"(?:{pattern})"):
            often = by_week
            break
    times = words.take(r"(\d+)\s*(?:x|times)(?![\w-])")
    match = words.take(_AMOUNT)
    if match is None:
        one = often is not None and re.match(r"\s*an?\s", words.left)
        unit_alone = words.take(rf"({_UNIT})\b(?=\s+of\b)")
        value = often if times is None and (one or (often not in (None, 1.0))) else None
        if times is not None:
            value = int(times[1]) * (often if often not in (None, 7.0) else 1.0)
        return _Amount(value, _unit(unit_alone[1]) if unit_alone else "", words.left)
    value = number(match[1])
    if match[2]:
        value = (value + number(match[2])) / 2
    value *= (1.0 if often is None else often) * (int(times[1]) if times else 1)
    return _Amount(value, _unit(match[3] or ""), match[0])


def _unit(word: str) -> str:
    return next((unit for names, unit in _UNITS.items() if re.fullmatch(names, word)), "")


def _wish_of_mix(mix: Mix, amount: _Amount) -> Wish:
    """Return a wish for a mix; a bare number of salads are bowls."""
    value, unit = amount.value, amount.unit
    if unit == "heads":
        ask(f"{mix} is not counted in heads", f"{value:g} lettuces" if value else "lettuce")
    if unit == "bunches" and value:
        ask(f"{mix} goes by weight", f"{value * BUNCH_G:g} g {mix}")
    bowls = mix == "salad" and unit in ("", "bowls")
    if value is not None and unit == "" and not bowls and value < BUNCH_G / 2:
        ask(f"{mix} goes by weight", f"{value * BUNCH_G:g} g {mix}")
    per_week = None if value is None else round(value * (1.0 if bowls else _G_IN.get(unit, 1.0)), 2)
    return Wish(crops=(), unit="g", per_week=per_week, mix=mix, in_bowls=bowls or unit == "bowls")


def _wish_of(item: str, kinds: tuple[str, ...], amount: _Amount, crops: Mapping[str, Crop]) -> Wish:
    """Return a wish for named crops of one unit and one sort of bed."""
    units: set[Unit] = {crops[slug].unit for slug in kinds}
    if len(units) > 1:
        ask(f'"{item}" holds crops counted in heads and by weight: name them separately')
    if len({crops[slug].kind in ("tray", "shoots") for slug in kinds}) > 1:
        ask(f'"{item}" holds crops of trays and of pots: name them separately')
    first, unit = crops[kinds[0]], units.pop()
    value = _in_unit_of(first, unit, amount)
    return Wish(
        crops=kinds,
        unit=unit,
        per_week=None if value is None else round(value, 2),
        in_bowls=amount.unit == "bowls",
        in_tray=first.kind in ("tray", "shoots"),
        has_nursery=any(crops[slug].nursery_d > 0 for slug in kinds),
    )


def _in_unit_of(crop: Crop, unit: Unit, amount: _Amount) -> float | None:
    """Return an amount in the unit of a crop, or ask."""
    value = amount.value
    if unit == "heads":
        if amount.unit == "bowls":
            ask(f"{crop.name} is counted in heads", f"{value or 3:g} bowls of salad")
        if amount.unit not in ("", "heads"):
            ask(f"{crop.name} is counted in heads, one of about {crop.anchor_g_per_plant:.0f} g")
        if value == 0:
            ask(f"{crop.name}: how many heads a week?")
        return value
    if amount.unit == "heads":
        ask(f"{crop.name} is counted in g")
    if value is None or amount.unit == "bowls":
        return value
    if amount.unit == "bunches" or value <= (10 if amount.unit == "" else 0):
        likely = f"{crop.name.casefold()} {value * BUNCH_G:g} g" if value else None
        ask(f"{crop.name} goes by weight: how many g a week", likely)
    return value * _G_IN.get(amount.unit, 1.0)


def _crops(item: str, names: list[str], tables: CropTables) -> tuple[str, ...]:
    slugs: dict[str, None] = {}
    for name in names:
        plain = " ".join(
            word for word in name.replace(".", " ").split() if word not in _FILLERS.split() or word == "green"
        )
        for slug in _crop(item, plain.strip("-:!() "), tables):
            slugs[slug] = None
    return tuple(slugs)


def _crop(item: str, name: str, tables: CropTables) -> list[str]:
    """Return the crops that a name means: one, or all kinds of it that grow in the same sort of place."""
    crops = tables.crops
    if exact := named_exactly(name, tables):
        return [exact[0]]
    singular = name.removesuffix("s")
    kinds = [slug for slug in crops if slug.split("-")[0] in (name, singular)]
    if kinds:
        kind = crops[kinds[0]].kind
        return [slug for slug in kinds if crops[slug].kind == kind]
    printed = [crop.name.casefold() for crop in crops.values()]
    known = [*crops, *printed, *(slug.split("-")[0] for slug in crops), *tables.common_names]
    mixes = [called for names in MIXES.values() for called in names]
    near = get_close_matches(name, [*known, *mixes], 1, CLOSE) or [
        word for word in name.split() if word.removesuffix("s") in known or word in mixes
    ]
    if not near and name.startswith(_ANYTHING):
        near = ["salad"]
    message = f'"{name}" is not a crop in the table' if name else "no crop is named"
    if near:
        ask(message, item.replace(name, near[0]) if name in item else near[0])
    ask(f"{message}{LISTED}" if name else message)

"""The eight questions about a space, and how each answer is read."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from cropcal.reading.interview.answers import (
    LENGTH,
    NUMBER,
    SIZE,
    STRETCH,
    AnswerText,
    metres,
    number,
    size,
    stretches,
    within,
)
from cropcal.reading.text.suggestions import nearest
from cropcal.records.answers import (
    Floor,
    LampAnswer,
    LampOnHours,
    PotBoxes,
    Price,
    Wish,
)
from cropcal.records.crop import Crop, CropTables

WALLS = {"open": 0.0, "no walls": 0.0, "dark": 0.1, "white": 0.8, "foil": 0.85, "mirror": 0.85}
"""Share of light that walls throw back, by the word for them; assumed, but for an open side."""
LAMP_WORDS = {
    "red-blue LED": ("red-blue", "red blue", "red and blue", "purple", "pink", "violet"),
    "warm white LED": ("warm white",),
    "neutral white LED": ("neutral white",),
    "cool white LED": ("cool white", "daylight white", "cold white"),
    "fluorescent": ("fluorescent", "tubes", "tube", "t5", "t8"),
    "HPS": ("hps", "high pressure sodium", "sodium"),
    "ceramic metal halide": ("ceramic metal halide", "metal halide", "cmh"),
    "white LED": ("white led", "white leds", "leds", "led", "white"),
}
LAMP_FILLERS = "w grow lamp lamps light lights panel panels bar bars strip strips bulb bulbs led leds by"
ALSO_CALLED = {
    "salad": "lettuce",
    "coriander": "cilantro",
    "rocket": "arugula-baby",
    "arugula": "arugula-baby",
    "spring onion": "green-onion",
    "scallion": "green-onion",
    "bok choy": "pak-choi",
    "swiss chard": "chard",
    "cress": "watercress",
}
"""Other common names of crops of the table."""
CURRENCIES = {"€": "EUR", "£": "GBP", "$": "USD", "p": "GBP", "pence": "GBP"}
AMOUNT = NUMBER + r"\s*(kg|g|grams?|heads?)?"
TIMES = {"once": 1.0, "twice": 2.0, "daily": 7.0, "every day": 7.0, "a day": 7.0}


@dataclass(frozen=True)
class Question:
    """One question: its flag, its text, an example answer, the answer for "don't know", and its parser."""

    key: str
    ask: str
    like: str
    default: str
    read: Callable[[str], Any]


def floor(text: str) -> Floor:
    """Read the size of the lit floor and what its walls are like: "1.1 x 0.5 m, white walls"."""
    words = AnswerText(text)
    dimensions = words.take(SIZE)
    if dimensions is None:
        message = "no length and width are found"
        raise ValueError(message)
    length, width = size(dimensions)
    wall = next((share for word, share in WALLS.items() if words.has(word)), None)
    words.refuse_rest("m wall walls all round sides painted shelf space lined")
    return Floor(
        length_m=within(length, 0.05, 50, "a length"),
        width_m=within(width, 0.05, 50, "a width"),
        wall_reflectance=wall,
    )


def boxes(text: str) -> PotBoxes:
    """Read how many boxes, how many pots in each, how large: "2 boxes of 8 pots, 0.5 x 0.3 m"."""
    words = AnswerText(text)
    if grid := words.take(r"(\d+)\s*(?:x|×)\s*(\d+)\s*(?:pots?|net cups?|cups?|plants?|sites?)\b"):
        count, pots, dimensions = int(grid[1]), int(grid[2]), words.take(SIZE)
    else:
        dimensions = words.take(SIZE)
        many = words.take(r"(\d+)\s*(?:boxes|box|shelves|shelf|trays?|beds?|containers?)\b")
        each = words.take(r"(\d+)\s*(?:pots?|net cups?|cups?|plants?|sites?|holes?)\b") or words.take(
            r"(\d+)\b"
        )
        if each is None:
            message = "no number of pots is found"
            raise ValueError(message)
        count, pots = int(many[1]) if many else 1, int(each[1])
    words.refuse_rest("x m pots pot box boxes one")
    length, width = size(dimensions) if dimensions else (None, None)
    return PotBoxes(
        count=int(within(count, 1, 40, "a number of boxes")),
        pots=int(within(pots, 1, 2000, "a number of pots")),
        length_m=length and within(length, 0.05, 50, "a length"),
        width_m=width and within(width, 0.05, 50, "a width"),
    )


def lamp(text: str) -> LampAnswer:
    """Read the kind of lamp, its watts, and whether they were measured: "white LED, 96 W, plug meter"."""
    words = AnswerText(text)
    many = words.take(r"(\d+)\s*(?:x|×|lamps?(?: of)?|bars?(?: of)?|panels?(?: of)?)\s")
    watts = words.take(NUMBER + r"\s*(?:watts?|w)\b") or words.take(NUMBER + r"\b")
    if watts is None:
        message = "no watts are found"
        raise ValueError(message)
    label = words.has("label", "labelled", "nominal")
    metered = words.has("measured", "plug meter", "metered", "meter", "at the wall")
    if label and metered:
        message = "both a label and a meter are named"
        raise ValueError(message)
    kind = next(
        (kind for kind, names in LAMP_WORDS.items() if [1 for name in names if words.has(name)]), None
    )
    many = many or words.take(r"(\d+)\b")
    words.refuse_rest(LAMP_FILLERS)
    return LampAnswer(
        watts=within(number(watts[1]), 1, 20000, "a lamp"),
        count=int(within(int(many[1]), 1, 1000, "a number of lamps")) if many else 1,
        kind=kind,
        metered=True if metered else False if label else None,
    )


def gap(text: str) -> float:
    """Read the distance from the lamp down to the leaves [m]: "30 cm"."""
    words = AnswerText(text)
    distance = words.take(LENGTH)
    if distance is None:
        message = "no distance is found"
        raise ValueError(message)
    words.refuse_rest("above leaves leaf lamp")
    return within(metres(distance[1], distance[2], small=True), 0.02, 10, "a distance in metres")


def hours(text: str) -> LampOnHours:
    """Read when the lamp is on and when it must be off: "06:00-22:00, quiet 22-7", "16 h"."""
    lamp_text, _, quiet_text = text.casefold().partition("quiet")
    words, quiet_words = AnswerText(lamp_text), AnswerText(quiet_text)
    lit, quiet = stretches(words.take_all(STRETCH)), stretches(quiet_words.take_all(STRETCH))
    length = words.take(NUMBER + r"\s*(?:h|hours?|hrs?)\b") or words.take(NUMBER + r"\b")
    if "quiet" in text.casefold() and not quiet:
        message = "no quiet hours are found"
        raise ValueError(message)
    if lit and length:
        message = "both clock times and a number of hours are given"
        raise ValueError(message)
    picked = words.has("pick", "picked", "best", "none", "any")
    if not (lit or length or quiet or picked):
        message = "no hours are found"
        raise ValueError(message)
    words.refuse_rest("h day lit hours o'clock")
    quiet_words.refuse_rest("h night hours")
    return LampOnHours(
        lit=lit,
        quiet=quiet,
        photoperiod_h=within(number(length[1]), 1, 24, "a day of light") if length else None,
    )


def air(text: str) -> tuple[float, float]:
    """Read the air with the lamp on and off [deg C]: "23 / 19"; one number stands for both."""
    words = AnswerText(text)
    matches = words.take_all(NUMBER + r"(?![\w.,])") or words.take_all(NUMBER + r"(?=\s*[°cf])")
    fahrenheit = bool(re.search(r"\d\s*°?\s*f\b|\bfahrenheit\b", text.casefold()))
    if not 1 <= len(matches) <= 2:
        message = f"{len(matches)} temperatures are found"
        raise ValueError(message)
    words.refuse_rest("c °c ° f °f celsius fahrenheit degrees lamp off day night")
    values = [number(match[1]) for match in matches]
    if fahrenheit:
        values = [round((value - 32) / 1.8, 1) for value in values]
    on, off = values[0], values[-1]
    return within(on, -10, 50, "air in °C"), within(off, -10, 50, "air in °C")


def price(text: str) -> Price:
    """Read the price of a kWh: "0.29 GBP", "29 p", "£0.29"."""
    words = AnswerText(text)
    symbol = next((sign for sign in "€£$" if sign in words.left), None)
    words.left = words.left.translate(str.maketrans("€£$", "   "))
    amount = words.take(NUMBER + r"\s*(pence|p|cents?|ct|c)?\b")
    if amount is None:
        message = "no price is found"
        raise ValueError(message)
    words.has("per kwh", "a kwh", "kwh")
    code = words.take(r"([a-z]{3})\b")
    words.refuse_rest("kwh")
    small = amount[2] is not None
    currency = code[1].upper() if code else CURRENCIES.get(symbol or amount[2] or "")
    return Price(
        per_kwh=within(round(number(amount[1]) / (100 if small else 1), 6), 0, 1000, "a price"),
        currency=currency,
    )


def wishes(text: str, tables: CropTables) -> tuple[Wish, ...]:
    """Read which crops are wanted and how much a week: "3 lettuces a week, basil 50 g, pea shoots".

    Crops are named by slug, by name, or by the first word of several ("lettuce": any of its kinds).
    """
    items: list[str] = []
    for part in re.split(r"[;\n]|,(?!\d)", text):
        if items and re.fullmatch(AMOUNT, part.strip().casefold()):
            items[-1] += f" {part}"  # "basil, 50 g"
        elif part.strip():
            items.append(part)
    if not items:
        message = "no crop is found"
        raise ValueError(message)
    return tuple(_wish(item, tables.crops) for item in items)


def _wish(item: str, crops: Mapping[str, Crop]) -> Wish:
    words = AnswerText(item)
    words.take(r"(?:a|per|each|every)\s+week\b")
    words.has("weekly", "/week")
    quantity = words.take(AMOUNT + r"(?![\w-])")
    often = next((times for word, times in TIMES.items() if words.has(word)), None)
    kinds = _crops(re.split(r"\s+or\s+|/", " ".join(words.left.split())), crops)
    units = {crops[slug].unit for slug in kinds}
    if len(units) > 1:
        message = f'"{item.strip()}" holds crops counted in heads and by weight: name them apart'
        raise ValueError(message)
    unit = units.pop()
    amount = None if quantity is None else number(quantity[1])
    unit_word = (quantity[2] or "") if quantity else ""
    if unit_word and (unit_word.startswith("head") != (unit == "heads")):
        message = f"{crops[kinds[0]].name} is counted in {unit}"
        raise ValueError(message)
    if amount is None and often is not None:
        amount = often if unit == "heads" else None
    elif amount is not None:
        amount *= (1000 if unit_word == "kg" else 1) * (often or 1)
        least = 0 if unit == "heads" else 1 if unit_word else 10
        if amount <= least:
            message = f"{crops[kinds[0]].name} goes by weight: how many g a week?"
            raise ValueError(message)
    first = crops[kinds[0]]
    trays = {crops[slug].kind in ("tray", "shoots") for slug in kinds}
    if len(trays) > 1:
        message = f'"{item.strip()}" holds crops of trays and of pots: name them apart'
        raise ValueError(message)
    return Wish(
        crops=kinds,
        unit=unit,
        per_week=amount,
        in_tray=first.kind in ("tray", "shoots"),
        has_nursery=any(crops[slug].nursery_d > 0 for slug in kinds),
    )


def _crops(names: list[str], crops: Mapping[str, Crop]) -> tuple[str, ...]:
    slugs: dict[str, None] = {}
    for name in names:
        plain = " ".join(word for word in name.split() if word not in ("of", "a", "some", "and", "heads"))
        for slug in _crop(plain, crops):
            slugs[slug] = None
    return tuple(slugs)


def _crop(name: str, crops: Mapping[str, Crop]) -> list[str]:
    """Return the crops that a name means: one, or all kinds of it that grow in the same sort of place."""
    name = ALSO_CALLED.get(name, ALSO_CALLED.get(name.removesuffix("s"), name))
    singular = name.removesuffix("s")
    by_name = {crop.name.casefold(): slug for slug, crop in crops.items()}
    for word in (name, singular):
        if (slug := word.replace(" ", "-")) in crops:
            return [slug]
        if word in by_name:
            return [by_name[word]]
    kinds = [slug for slug in crops if slug.split("-")[0] in (name, singular)]
    if kinds:
        kind = crops[kinds[0]].kind
        return [slug for slug in kinds if crops[slug].kind == kind]
    known = [*crops, *by_name, *(slug.split("-")[0] for slug in crops)]
    near = nearest(name, known)
    hint = f'; did you mean "{near}"?' if near else "; cropcal crops lists them"
    message = f'"{name}" is no crop of the table{hint}' if name else "no crop is named"
    raise ValueError(message)


def questions(tables: CropTables) -> tuple[Question, ...]:
    """Return the questions in their order."""
    return (
        Question(
            "floor",
            "How large is the floor under the lamp, and what stands around it: open, white walls, foil?",
            "1.1 x 0.5 m, white walls",
            "1.0 x 0.5 m",
            floor,
        ),
        Question(
            "boxes",
            "How many boxes stand there, how many pots in each, how large is a box?",
            "2 boxes of 8 pots, 0.5 x 0.3 m",
            "1 box of 8 pots",
            boxes,
        ),
        Question(
            "lamp",
            "Which lamp: kind, watts, on the label or by a plug meter?",
            "white LED, 96 W, plug meter",
            "LED, 100 W, label",
            lamp,
        ),
        Question("gap", "How far is it from the lamp down to young leaves?", "35 cm", "30 cm", gap),
        Question(
            "hours",
            "When does the lamp burn now, and when had it better be off?",
            "06:00-22:00, quiet 22:00-06:00",
            "picked for you",
            hours,
        ),
        Question(
            "air", "How warm is it among the leaves, lamp on and lamp off, in °C?", "23 / 19", "21", air
        ),
        Question("price", "What does a kWh cost?", "0.29 GBP", "0.30 EUR", price),
        Question(
            "eat",
            "What do you like to eat, and how much a week?",
            "3 lettuces, basil 50 g, pea shoots",
            "lettuce-looseleaf or lettuce-butterhead, basil",
            lambda text: wishes(text, tables),
        ),
    )

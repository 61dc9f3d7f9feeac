"""The ten questions about a space, and how an answer is read: the shorter ones here, the others beside it."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from cropcal.reading.interview.answers import (
    LENGTH,
    NUMBER,
    RANGE,
    UNIT,
    AnswerText,
    AskBack,
    Heard,
    ask,
    distance,
    metres,
    number,
    within,
)
from cropcal.reading.interview.clock_times import hours
from cropcal.reading.interview.days import first_day, work_days
from cropcal.reading.interview.floor_and_boxes import boxes, floor
from cropcal.reading.interview.lamps import lamp
from cropcal.reading.interview.wishes import wishes
from cropcal.records.answers import Price
from cropcal.records.crop import CropTables

CURRENCIES = {"€": "EUR", "£": "GBP", "$": "USD", "p": "GBP", "pence": "GBP", "¢": "USD"}
_SMALL_COINS = r"(pence|penny|p|cents?|cts|ct|c|¢)?"
_GAP_FILLERS = (
    "above leaves leaf lamp plants plant lettuce lettuces seedlings over between und now away high up s "
    "adjustable bit little"
)
LONGEST = 300
"""Letters of the longest answer that is read."""
DEAR = 3.0
"""Price of a kWh in euros, dollars or pounds from which it is most likely in hundredths of these."""
_WHOLE_COINS = ("EUR", "GBP", "USD", "CHF", "CAD", "AUD", "NZD")
_NIGHT = r"(?:night|nights|nachts?|dark|off)"
_DAY = r"(?:day|days|tags?|light|on)"


@dataclass(frozen=True)
class Question:
    """One question: its flag, its text, an example answer, the answer for "don't know", and its parser."""

    key: str
    ask: str
    like: str
    default: str
    parse: Callable[[str, Heard], Any]

    def read(self, text: str, heard: Heard) -> Any:
        """Return what an answer means; raise AskBack if that is not sure. ``heard``: what is known before."""
        if len(text) > LONGEST or re.search(r"\d{8}", text):
            ask("the answer, or a number in it, is far too long")
        try:
            return self.parse(text, heard)
        except AskBack as error:
            if error.likely is not None and not self._can_read(error.likely, heard):
                raise AskBack(error.message) from None
            raise

    def _can_read(self, text: str, heard: Heard) -> bool:
        try:
            self.parse(text, heard)
        except AskBack:
            return False
        return True


def gap(text: str, heard: Heard) -> float:
    """Read the distance from the lamp down to the leaves [m]: "30 cm", "about a foot", "10-12 inches"."""
    words = AnswerText(text)
    typed = re.search(NUMBER + r"\s*" + UNIT, words.left)
    between = words.take(RANGE)
    single = None if between else words.take(LENGTH)
    if between or single:
        words.refuse_rest(_GAP_FILLERS)
    if between:
        low, low_unit, high, unit = between.groups()
        ends = [_gap_of(low, low_unit or unit, heard), _gap_of(high, unit, heard)]
        value = round(sum(ends) / 2, 4)
    elif single:
        value = _gap_of(single[1], single[2], heard)
    else:
        ask("no distance is found")
    return within(value, 0.02, 3, "a distance in metres", _smaller(typed))


def _smaller(typed: re.Match[str] | None) -> str | None:
    """Return the same number in a smaller unit with which it is a usual distance, if there is one."""
    if typed is None:
        return None
    units = ("cm", "mm") if typed[2][0] == "m" else ("in",)
    return next((f"{typed[1]} {unit}" for unit in units if 0.1 <= metres(typed[1], unit) <= 1.2), None)


def _gap_of(value: str, unit: str | None, heard: Heard) -> float:
    return metres(value, unit) if unit else distance(number(value), heard)


def air(text: str, heard: Heard) -> tuple[float, float]:
    """Read the air with the lamp on and off [deg C]: "23 / 19", "72F, 66 at night"; one number is both."""
    words = AnswerText(text)
    words.left = re.sub(r"(?<=\d)\s*(?:°|degrees?|deg\b|grad|-?ish\b)", "", words.left)
    plain = words.left
    fahrenheit = bool(re.search(r"\d\s*°?\s*f\b|\bfahrenheit\b", plain))
    celsius = bool(re.search(r"\d\s*c\b|\bcelsius\b", plain))
    dashed = bool(re.search(r"\d\s*[cf]?\s*(?:-|to|and)\s*\d", plain))
    matches = [*re.finditer(r"(?<![\w.,])(-?\d+(?:[.,]\d+)?)\s*[cf]?\b(?![\w])", plain.replace("c ", "c "))]
    if dashed:
        matches = [*re.finditer(r"(?<![\w.,])(\d+(?:[.,]\d+)?)\s*[cf]?\b", plain)]
    if not matches and re.search(r"room temp|normal|indoor", plain):
        ask("no number is found", "about 20")
    if not 1 <= len(matches) <= 2:
        ask(f"{len(matches)} temperatures are found: one, or two, are asked for")
    values = [number(match[1]) for match in matches]
    words.left = re.sub(r"-?\d+(?:[.,]\d+)?\s*(?:[cf]\b)?", " ", plain)
    roles = [match[0] for match in re.finditer(rf"\b(?:{_NIGHT}|{_DAY})\b", words.left)]
    words.refuse_rest(
        "celsius fahrenheit degrees lamp lamps lights off on day night days nights light dark during tags "
        "nachts tag nacht room temp temperature between to - by when while it's warm usually °c °f ° c f"
    )
    values = [_celsius(value, values, fahrenheit=fahrenheit, celsius=celsius) for value in values]
    return _on_and_off(values, plain, matches, roles, dashed=dashed)


def _celsius(value: float, values: list[float], *, fahrenheit: bool, celsius: bool) -> float:
    """Return a temperature in Celsius; bare numbers that no plant survives are Fahrenheit."""
    if fahrenheit or (not celsius and all(55 <= other <= 110 for other in values)):
        return within(round((value - 32) / 1.8, 1), -10, 50, "air in °C")
    if not celsius and 40 < value <= 110:
        ask(f"{value:g} °C is far too hot for leaves", f"{value:g} F")
    likely = f"{value:g} °F" if 40 < value <= 110 else f"{value / 10:g} °C" if 100 <= value <= 400 else None
    return within(value, -10, 50, "air in °C", likely)


def _on_and_off(
    values: list[float], plain: str, matches: list[re.Match[str]], roles: list[str], *, dashed: bool
) -> tuple[float, float]:
    """Return which of one or two temperatures is that with the lamp on, and which with it off."""
    nights = [bool(re.fullmatch(_NIGHT, role)) for role in roles]
    if len(values) == 1:
        if len(set(nights)) == 1:
            other = "lamp on" if nights[0] else "lamp off"
            ask(f"and with the {other}? Type both, like 23 / 19")
        return values[0], values[0]
    first, second = values
    if len(nights) >= 2 and nights[0] != nights[1]:
        return (second, first) if nights[0] else (first, second)
    if len(set(nights)) == 1:
        role = re.search(rf"\b{roles[0]}\b", plain)
        before = role is not None and role.start() < matches[1].start() and role.end() > matches[0].end()
        at_first = role is not None and (
            role.start() < matches[0].start()
            or (
                before
                and "," not in plain[matches[0].end() : role.start()]
                and not re.search(r"\band\b|/", plain[matches[0].end() : role.start()])
            )
        )
        return (second, first) if at_first == nights[0] else (first, second)
    if first < second:
        if not dashed:
            ask("colder with the lamp on than with it off", f"{second:g} / {first:g}")
        return second, first
    return first, second


def price(text: str, heard: Heard) -> Price:
    """Read the price of a kWh: "0.29 GBP", "29 p", "£0.29", "14 cents"; a bare 30 is asked about."""
    words = AnswerText(text)
    if re.fullmatch(r"\W*(?:free|nothing|it is free|it's free|solar, free)\W*", words.left):
        return Price(per_kwh=0.0)
    symbol = next((sign for sign in "€£$" if sign in words.left), None)
    symbol = symbol or ("€" if "euro c" in words.left else None)
    words.left = words.left.translate(str.maketrans("€£$/", "    "))
    per_mwh = words.take(r"(?:per\s+|a\s+)?mwh\b")
    words.take_all(r"(?:(?:per|a|je|pro|the)\s+)?(?:kwh|kw h|kw|kilowatt[ -]?hours?|unit|units)\b")
    amounts = words.take_all(NUMBER + r"\s*" + r"(?:euro\s+(?=c))?" + _SMALL_COINS + r"(?![\w])")
    if not amounts:
        ask("no price is found")
    if len(amounts) > 1:
        ask("only one price can be given here; add day and night prices to space.toml later")
    code = words.take(r"(euros?|pounds?|dollars?)\b") or words.take(r"(?!kwh|per)([a-z]{3})\b")
    words.refuse_rest("kwh per pro cost costs pay we day")
    value, coin = number(amounts[0][1]) / (1000 if per_mwh else 1), amounts[0][2]
    named = {"eur": "EUR", "pou": "GBP", "dol": "USD"}
    currency = (named.get(code[1][:3], code[1].upper()) if code else None) or CURRENCIES.get(
        symbol or coin or ""
    )
    return Price(per_kwh=_of_a_kwh(value, coin, currency, symbol or code), currency=currency)


def _of_a_kwh(value: float, coin: str | None, currency: str | None, whole: object) -> float:
    """Return a price in whole coins, or ask whether hundredths are meant."""
    if coin is not None:
        if not whole and 0 < value < 1:
            ask(f"{value:g} {coin} is next to nothing", f"{value * 100:g} {coin}")
        if value > 100 * DEAR:
            ask(f"{value:g} {coin} a kWh is very high", f"{value / 100:g} {coin}")
        return round(value / 100, 6)
    if whole and currency not in _WHOLE_COINS:
        return within(round(value, 6), 0, 1000, "a price")
    if value >= DEAR:
        if whole:
            ask(
                f"{value:g} {currency} a kWh is very high",
                f"{value / (1000 if value >= 100 else 100):g} {currency}",
            )
        cents = value / 10 if value >= 100 else value
        ask(f"{value:g} has no coin or currency", f"{cents:g} ct")
    return round(value, 6)


def yes_or_no(text: str, heard: Heard) -> bool:
    """Read a yes or a no."""
    words = AnswerText(text)
    answers = dict.fromkeys(("yes", "y", "yeah", "yep", "sure", "ok", "okay", "ja", "please", "true"), True)
    answers |= dict.fromkeys(("no", "n", "nope", "nein", "not", "false"), False)
    said = {answers[word] for word in words.rest() if word in answers}
    if len(said) != 1:
        ask("yes or no is expected")
    return said.pop()


TRAY = Question(
    "tray",
    "Leaves sown in an open tray are ready weeks before heads. Can you put one beside the pots?",
    "yes",
    "yes",
    yes_or_no,
)
"""Asked only where it would serve a wish and nobody spoke of trays."""


def questions(tables: CropTables) -> tuple[Question, ...]:
    """Return the questions in their order."""
    return (
        Question(
            "floor",
            "How large is the floor under the lamp, and what is around it: open, white walls, foil?",
            "1.1 x 0.5 m, white walls",
            "1.0 x 0.5 m",
            floor,
        ),
        Question(
            "boxes",
            "How many boxes, how many pots in each, how large? Any open trays, to sow leaves in?",
            "2 boxes of 8 pots, 0.5 x 0.3 m, and 1 tray",
            "1 box of 8 pots",
            boxes,
        ),
        Question(
            "lamp",
            "Which lamp: kind, watts, on the label or by a plug meter?",
            "white LED, 96 W, plug meter",
            "LED, 100 W, label",
            lambda text, _: lamp(text),
        ),
        Question("gap", "How far is it from the lamp down to young leaves?", "35 cm", "30 cm", gap),
        Question(
            "hours",
            "When is the lamp on now, and when must it be off?",
            "06:00-22:00, quiet 22:00-06:00",
            "picked for you",
            lambda text, _: hours(text),
        ),
        Question("air", "How warm is the air there, lamp on and lamp off?", "23 / 19", "21", air),
        Question("price", "What does a kWh cost?", "0.29 GBP", "0.30 EUR", price),
        Question(
            "eat",
            "What do you like to eat, and how much a week?",
            "3 lettuces, basil 50 g, pea shoots; or just salad",
            "lettuce-looseleaf or lettuce-butterhead, basil",
            lambda text, _: wishes(text, tables),
        ),
        Question(
            "days",
            "Which days of the week do you have time to sow and cut?",
            "Tue and Sat",
            "Wed and Sat",
            lambda text, _: work_days(text),
        ),
        Question("start", "When do you want to start?", "1 March", "next Monday", first_day),
    )

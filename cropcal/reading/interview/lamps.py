"""Lamps as people and their makers' texts describe them: "two 45 W LEDs", "200 W, 3000K, PPF 540 umol/s"."""

import re

from cropcal.reading.interview.answers import NUMBER, UNIT, AnswerText, ask, number, within
from cropcal.records.answers import LampAnswer

LAMP_WORDS = {
    "red-blue LED": ("red-blue", "red blue", "red and blue", "blurple", "purple", "pink", "violet"),
    "warm white LED": ("warm white",),
    "neutral white LED": ("neutral white",),
    "cool white LED": ("cool white", "daylight white", "cold white"),
    "fluorescent": ("fluorescents", "fluorescent", "tubes", "tube", "t5", "t8"),
    "HPS": ("hps", "high pressure sodium", "sodium"),
    "ceramic metal halide": ("ceramic metal halide", "metal halide", "cmh"),
    "white LED": ("full spectrum", "full-spectrum", "white led", "white leds", "leds", "led", "white"),
}
_NO_GROW_LAMP = ("halogen", "incandescent", "filament", "plasma", "infrared")
_FILLERS = (
    "w watt watts grow lamp lamps light lights panel panels bar bars strip strips bulb bulbs led leds by box "
    "shop tube tubes says draws leiste leisten leuchte ft foot long spectrum actual actually real plug meter "
    "but wall flood floodlight floodlights batten battens fixture fixtures both off spec daylight"
)
_IN_ALL = r"(?:together|in total|total|altogether|in all|combined)\b"
MOST_LAMPS = 60
"""Most lamps of a kind over a floor; more is a slip (assumed)."""
_WATTS = NUMBER + r"\s*(kw|kilowatts?|watts?|w)\b(?!\s*/)"
_METER = (
    r"(?:measured|metered|gemessen|plug[ -]?in meter|plug meter|meter|actual(?:ly)?|at the wall|really|uses"
    r"|draws?)"
)
_SAYS = r"\s*(?:says|reads|shows|draws?|power|pulls|is|:|=|only|about)*\s*"
_THINGS = r"(?:lamps?|bars?|panels?|strips?|tubes?|bulbs?|lights?|leds?|shop lights?|leisten)"
_LABEL = (
    "by the label",
    "on the label",
    "on the box",
    "label",
    "labelled",
    "labeled",
    "nominal",
    "rated",
    "printed",
)


def lamp(text: str) -> LampAnswer:
    """Read the kind of lamp, its watts, and whether they were measured: "white LED, 96 W, plug meter"."""
    words = AnswerText(text)
    words.left = re.sub(r"(?<=[a-z])-(?=[a-z])", " ", words.left)
    words.left = re.sub(r"\bred\s*[/&+]\s*blue\b", "red blue", words.left)
    words.take_all(
        NUMBER + r"\s*(?:watts?|w)\s*(?:equivalent|equiv)\b(?=.*\b(?:uses|draws|actual|really|measured))"
    )
    if re.search(r"equivalent|equiv\b|replac|instead of", words.left):
        ask("equivalent watts do not say how bright it is: type the watts that it really draws")
    if odd := next((word for word in _NO_GROW_LAMP if word in words.left), None):
        ask(f'"{odd}" is not among the kinds of lamp: LED (white, red-blue), fluorescent, HPS, metal halide')
    _refuse_per_metre(words)
    kelvins = [int(match[1]) for match in words.take_all(r"(\d{4})\s*k(?:elvin)?\b")]
    ppf = words.take(r"(?:ppf\W*)?" + NUMBER + r"\s*(?:µmol|umol|μmol)\s*/\s*s\b") or words.take(
        r"ppf\W*" + NUMBER
    )
    words.take_all(NUMBER + r"\s*(?:µmol|umol|μmol)\s*/\s*j\b")
    words.take_all(NUMBER + r"\s*(?:lumens?|lm|lux|v|volts?|ma|amps?)\b")
    words.take_all(NUMBER + r"\s*" + UNIT + r"(?![a-z])")
    total = words.take(_WATTS + rf"\s*(?:in\s+)?{_IN_ALL}") or words.take(_IN_ALL + r"\W*(?:of\s+)?" + _WATTS)
    metered_w = words.take(_METER + _SAYS + NUMBER + r"\s*(kw|watts?|w)?\b")
    metered_w = metered_w or words.take(_WATTS + r"\s*(?:as |by |on |a |the )*" + _METER)
    label = words.has(*_LABEL)
    metered = bool(metered_w) or words.has("measured", "plug meter", "metered", "meter", "at the wall")
    count = words.take(rf"(\d+)\s+(?=(?:led\s+)?{NUMBER}\s*(?:watts?|w)\b)")
    watts = words.take(_WATTS)
    if metered_w is None and watts is not None:
        metered_w = words.take(r"(?:plug )?meter" + _SAYS + NUMBER + r"()\b") if metered else None
    kind = _kind(words, kelvins)
    count = count or words.take(rf"(\d+)\s*(?:x|off|{_THINGS}(?:\s+of)?)(?=\W|$)")
    if watts is None and metered_w is None and total is None:
        watts = words.take(NUMBER + r"()\b")
        if watts is None:
            ask("no watts are found; look on the lamp, its plug or its box")
    if label and metered and not ((metered_w or total) and watts):
        ask("both a label and a meter are named")
    if not metered and not label and watts and words.has("says"):
        label = True
    count = count or words.take(r"(?<!-)(\d+)\b(?!-|\s*w)")
    if words.take(_WATTS):
        ask("only one kind of lamp can be given here; add others to space.toml later, as another [[fixture]]")
    many = int(within(int(count[1]), 1, MOST_LAMPS, "a number of lamps")) if count else 1
    power = within(_each(_watts(watts), _watts(metered_w), _watts(total), many), 1, 20000, "a lamp")
    _refuse_odd_rest(words, kind, watts or metered_w or total, f"LED, {power:g} W{', measured' * metered}")
    return LampAnswer(
        watts=power,
        count=many,
        kind=kind,
        metered=True if metered else False if label else None,
        ppf_umol_s=within(number(ppf[1]), 1, 60000, "a photon flux") if ppf else None,
    )


def _watts(match: re.Match[str] | None) -> float | None:
    return None if match is None else number(match[1]) * (1000 if (match[2] or "").startswith("k") else 1)


def _each(each: float | None, metered: float | None, total: float | None, many: int) -> float:
    """Return the watts of one lamp: of what is given for one, by a meter, or for all together; or ask."""
    if metered is not None:
        if each is None or many == 1 or 0.4 <= metered / each <= 1.3:
            return metered
        total = metered
    if total is None:
        assert each is not None
        return each
    if each is not None and not 0.4 <= total / (each * many) <= 1.3:
        ask(f"{many} lamps of {each:g} W are not {total:g} W together", f"{many} LEDs of {each:g} W")
    return round(total / many, 1)


def _refuse_per_metre(words: AnswerText) -> None:
    """Ask for the watts of a strip that are given by the metre."""
    strip = words.take(NUMBER + r"\s*(?:watts?|w)\s*(?:/|per)\s*m\w*\b")
    if strip:
        metres = words.take(NUMBER + r"\s*(?:m|met(?:re|er)s?)\b")
        likely = f"LED, {number(strip[1]) * number(metres[1]):.0f} W" if metres else None
        ask("watts by the metre: how many in all", likely)


def _kind(words: AnswerText, kelvins: list[int]) -> str | None:
    """Return the kind of lamp; a white LED by its colour temperature, if it has one."""
    if re.search(r"\bleds?\b", words.left):
        words.take_all(r"(?:tubes?|t5|t8)\b")
    kind = next(
        (kind for kind, names in LAMP_WORDS.items() if [1 for name in names if words.has(name)]), None
    )
    if kind not in (None, "white LED") or not kelvins or max(kelvins) - min(kelvins) > 1000:
        return kind
    return (
        "warm white LED"
        if kelvins[0] <= 3300
        else "neutral white LED"
        if kelvins[0] < 5000
        else "cool white LED"
    )


def _refuse_odd_rest(words: AnswerText, kind: str | None, watts: re.Match[str] | None, likely: str) -> None:
    """Refuse what is left, but for a maker's name beside a known kind and watts."""
    odd = words.rest(_FILLERS)
    names = [word for word in odd if re.search(r"[a-z]", word)]
    if watts is not None and watts[2]:
        odd = [word for word in odd if word not in names and word not in "+-&="]
        if kind is None and names and not odd:
            ask(f'"{" ".join(names)}": which kind of lamp is it', likely)
    if odd:
        ask(f'"{" ".join(odd)}" is not understood')

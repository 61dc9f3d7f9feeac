"""The lit floor, and the boxes and trays on it, as people describe them."""

import re

from cropcal.reading.interview.answers import LENGTH, NUMBER, SIZE, UNIT, AnswerText, Heard, ask, size, within
from cropcal.records.answers import Floor, PotBoxes

WALLS = {
    "open": 0.0, "no walls": 0.0, "without walls": 0.0, "black": 0.1, "dark": 0.1, "white": 0.8,
    "weisse": 0.8, "weiss": 0.8, "aluminium": 0.85, "tin foil": 0.85,
    "silver foil": 0.85, "foil": 0.85, "mylar": 0.85,
    "mirrors": 0.85, "mirror": 0.85, "reflective": 0.85,
}  # fmt: skip
"""Share of light that walls throw back, by the word for them; assumed, but for an open side."""
_WALL_FILLERS = (
    "m wall walls wände all round sides side ply plywood wand painted paint inside shelf space lined tent "
    "it box cupboard wide deep long 4 by film sheet grow kitchen worktop counter table top desk rack unit "
    "cabinet wardrobe square "
)
_BOX = (
    r"(?:boxes|box|boxen|kisten?|kästen|shelves|shelf|totes?|tubs?|containers?|beds?|channels?|tubes?|bins?"
    r"|crates?|buckets?|pipes?|gutters?)\b"
)
_POT = (
    r"(?:(?:net |mason |jam |plant |growing |plastic )?(?:pots?|cups?|jars?)|töpfen?|plants?|sites?|holes?"
    r"|spaces?|spots?)\b"
)
_LOOKS = rf"(?:(?!{_POT}|(?:and|in|of|per|each|with|on|x)\b)[a-z]+\s+){{0,3}}"
_TRAY = r"(?:(?:open|seed|sowing|sprouting|microgreens?|seedling|small|little|large|big|plastic) )*trays?\b"
_BESIDE = (
    rf"(?:,|;|\+|&|\band\b|\bplus\b)\s*(?=(?:\d+|an?|no)?\s*{_TRAY})"
    r"|(?:(?<=trays)|(?<=tray))\s*(?:and|plus|\+|&)\s*"
)
_EACH = r"(?:each|per|every|je)"
NO_POTS = "no number of pots is found"


def floor(text: str, heard: Heard) -> Floor:
    """Read the size of the lit floor and what its walls are like: "1.1 x 0.5 m, white walls"."""
    words = AnswerText(text)
    words.left = re.sub(rf"({LENGTH}\s*(?:long|wide|deep))\s*,(?=\s*[\d.])", r"\1 by", words.left)
    words.left = re.sub(rf"({NUMBER}\s*{UNIT}) square\b(?! [fmi])", r"\1 x \1", words.left)
    dimensions = words.take(SIZE)
    if dimensions is None:
        ask("no length and width are found")
    length, width = size(dimensions, heard)
    place, words.left = words.left[: dimensions.start()], words.left[dimensions.start() :]
    if re.search(
        r"\b(?:1|2|3|half|back|front|left|right|behind)\b(?: of)?(?: the)? ?(?:sides?|walls?|wände)?",
        words.left,
    ):
        ask("sides that differ can be set in space.toml later; which word fits most: open, white, foil")
    if re.search(r"wall|\d", place) or any(word in place for word in WALLS):
        words.left = f"{place} {words.left}"  # else it is the name of the place
    wall = next((share for word, share in WALLS.items() if words.has(word)), None)
    words.refuse_rest(_WALL_FILLERS)
    return Floor(
        length_m=within(length, 0.05, 50, "a length"),
        width_m=within(width, 0.05, 50, "a width"),
        wall_reflectance=wall,
    )


def boxes(text: str, heard: Heard) -> PotBoxes:
    """Read how many boxes, how many pots in each, how large, and trays: "2 boxes of 8 pots, 0.5 x 0.3 m"."""
    box_text, tray_text = _apart(AnswerText(text).left)
    trays, tray_length_m, tray_width_m = _trays(tray_text, heard) if tray_text else (None, None, None)
    no_boxes = bool(tray_text) and not box_text.strip(" ,.")
    if no_boxes and not trays:
        ask(NO_POTS)
    count, pots, sides = (0, 0, (None, None)) if no_boxes else _pots(box_text, heard)
    return PotBoxes(
        count=count,
        pots=pots,
        length_m=sides[0],
        width_m=sides[1],
        trays=trays,
        tray_length_m=tray_length_m,
        tray_width_m=tray_width_m,
    )


def _apart(text: str) -> tuple[str, str]:
    """Return what is said of boxes of pots, and of open trays; a tray that holds pots is a box."""
    if not re.search(_TRAY, text):
        return text, ""
    parts = re.split(_BESIDE, text)
    others = [part for part in parts if not re.search(_TRAY, part)]
    if others or not re.search(r"\d\s*" + _POT, text):
        return ", ".join(others), ", ".join(part for part in parts if re.search(_TRAY, part))
    if not re.search(_BOX, text) and re.search(_TRAY + r"\s*,", text) and not re.search(_EACH, text):
        tray, pots = text.split(",", 1)
        ask("are the pots in the tray or beside it", f"{pots.strip()} and {tray.strip()}")
    return text, ""


def _pots(text: str, heard: Heard) -> tuple[int, int, tuple[float | None, float | None]]:
    """Return the number of boxes, of pots in each, and the size of a box."""
    words = AnswerText(text)
    words.left = re.sub(
        r"(\d{1,3}) rows? (?:of|x) (\d{1,3})\b", lambda rows: str(int(rows[1]) * int(rows[2])), words.left
    )
    words.take_all(r"\d+\s*-?(?:litres?|liters?|l|gallons?|gal|quarts?)\b")
    if grid := words.take(r"(\d+)\s*x\s*(\d+)\s*grid\b"):
        count, pots, dimensions = 1, int(grid[1]) * int(grid[2]), words.take(SIZE)
    elif grid := words.take(r"(\d+)\s*x\s*(\d+)\s*(?:of\s+)?" + _POT):
        count, pots, dimensions = int(grid[1]), int(grid[2]), words.take(SIZE)
    elif all_in := words.take(
        rf"(\d+)\s*{_POT}(?:\s+\w+){{0,2}}\s+(?:in|on|across|over)\s+(\d+)\s*(?:{_BOX}|{_TRAY})"
    ):
        dimensions = words.take(SIZE)
        count, pots = int(all_in[2]), int(all_in[1])
        if not (words.take(_EACH + r"\b")):
            pots = _shared_out(pots, count)
    else:
        dimensions = words.take(SIZE)
        many = words.take(rf"(\d+|an?)\s*{_LOOKS}(?:{_BOX}|{_TRAY})")
        each = words.take(r"(\d+)\s*" + _POT) or words.take(r"(\d+)\b")
        if each is None and dimensions and not (dimensions[2] or dimensions[4]):
            ask(NO_POTS, f"{dimensions[1]} boxes of {dimensions[3]} pots")
        if each is None:
            ask(NO_POTS)
        count, pots = int(many[1]) if many and many[1].isdigit() else 1, int(each[1])
        if count == 1:
            words.take(r"1\b")  # "just one, with 6 holes"
    words.take_all(NUMBER + r"\s*" + UNIT + r"(?![a-z])")  # how wide a pot is
    words.refuse_numbers()
    length, width = size(dimensions, heard) if dimensions else (None, None)
    return (
        int(within(count, 1, 40, "a number of boxes")),
        int(within(pots, 1, 2000, "a number of pots")),
        (length and within(length, 0.05, 50, "a length"), width and within(width, 0.05, 50, "a width")),
    )


def _shared_out(pots: int, count: int) -> int:
    """Return the pots of each of some boxes that have so many in all, or ask."""
    if count < 1 or pots % count:
        ask(
            f"{pots} pots in {count} boxes: how many in each",
            f"{count} boxes of {-(-pots // max(count, 1))} pots",
        )
    return pots // count


def _trays(text: str, heard: Heard) -> tuple[int | None, float | None, float | None]:
    """Return the number of open trays, which are sown all over, and the size of one."""
    words = AnswerText(text)
    dimensions = words.take(SIZE)
    many = words.take(rf"(\d+|an?|no|without)\s*(?:any\s+)?{_TRAY}") or words.take(rf"()(?:{_TRAY})")
    if many and many[1] in ("no", "without"):
        return 0, None, None
    words.refuse_numbers()
    count = int(many[1]) if many and many[1].isdigit() else 1
    length, width = size(dimensions, heard) if dimensions else (None, None)
    return (
        int(within(count, 1, 40, "a number of trays")),
        length and within(length, 0.05, 50, "a length"),
        width and within(width, 0.05, 50, "a width"),
    )

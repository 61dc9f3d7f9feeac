"""Damaged files: good ones with bytes, words, numbers, days, lines and tables changed at random."""

import random
import re
from collections.abc import Callable

JOURNAL = """\
on,event,batch,crop,bed,zone,sites,amount,unit,weight_g,cut,early,what,from,until,why,note,sure,written_at,corrects,id
2027-01-06,sown,0106a,lettuce-butterhead,,,,4,sites,,,,,,,,,,2027-01-06T18:00:00+00:00,,bcdfg
2027-01-11,emerged,0106a,lettuce-butterhead,,,,3,sites,,,,,,,,,,2027-01-11T18:00:00+00:00,,cdfgh
2027-01-20,transplanted,0106a,lettuce-butterhead,box,,,3,sites,,,,,,,,,,2027-01-20T07:30:00+00:00,,dfghj
2027-01-21,reading,,,box,,1 to 3,205,umol,,,,,,,,,,2027-01-21T08:00:00+00:00,,fghjk
2027-01-22,air,,,,shelf,,24.5,C,,,,,,,,"door open, fan on",,2027-01-22T08:00:00+00:00,,ghjkm
2027-01-23,outage,,,,shelf,,,,,,,lamp,2027-01-23 18:30,2027-01-23 21:00,,,,2027-01-24T08:00:00+00:00,,hjkmn
2027-02-20,harvested,0106a,lettuce-butterhead,box,,,2,heads,310,1,,,,,,,,2027-02-20T09:00:00+00:00,,jkmnp
2027-02-20,harvested,0106a,lettuce-butterhead,box,,,2,heads,290,1,,,,,,,,2027-02-20T09:05:00+00:00,jkmnp,kmnpq
2027-02-22,lost,0106a,lettuce-butterhead,box,,,1,sites,,,,,,,tip burn,,,2027-02-22T09:05:00+00:00,,mnpqr
2027-02-22,undone,,,,,,,,,,,,,,,,,2027-02-22T09:06:00+00:00,mnpqr,npqrs
"""
CROPS = """\
slug,like,name,days,anchor_g,dli_min_mol_m2_d,dli_target_mol_m2_d,unit,keeping_d
lettuce-shed,lettuce-butterhead,Shed lettuce,,140,9,14,,7
basil,,,,,8.5,,,
red-radish,radish,"Radish, red",,,,,,
"""
AIR = "time,air_c,zone\n" + "".join(
    f"2027-01-{day:02d} {hour:02d}:00,{17 + hour / 4:g},shelf\n"
    for day in (6, 7, 8)
    for hour in range(0, 24, 3)
)
METER = "date,kwh,zone\n" + "".join(
    f"2027-01-{day:02d},{100 + 0.7 * day:.1f},shelf\n" for day in range(4, 24, 2)
)

NUMBERS = (
    "0",
    "-1",
    "1",
    "0.5",
    "1e-5",
    "5e-324",
    "1e308",
    "-0.0",
    "nan",
    "inf",
    "999999999",
    "0x7fffffffffffffff",
    "9" * 4300,
    "9" * 4301,
    "true",
    '"7"',
    "[]",
    "{}",
    "",
    "3,5",
    "1.000,5",
    "12:30",
    "2027-01-06",
    "½",
    "٣",
)
DAYS = (
    "0001-01-01",
    "9999-12-31",
    "2027-02-30",
    "2027-1-6",
    "06.01.2027",
    "1970-01-01",
    "2026-12-30",
    "2027-06-30",
    "2027-03-28",
    "2024-02-29",
    "2027-01-06T18:30:00",
    "2027-01-06 25:00",
    "0001-01-01T00:00",
    "9999-12-31T23:59-12:00",
)
WORDS = (
    '"\\u001b[31m"',
    '"\\u202egnp"',
    '"\\u200b"',
    '" "',
    '""',
    "\x1b[2J",
    "\x85",
    "\u2066",
    "\ufeff",
    "\0",
    "\t",
    '"',
    "'''",
    "[",
    "]]",
    "{",
    "}",
    "#",
    ",",
    ";",
    "=",
    "none",
    "undone",
    "heads",
    "g",
    "sites",
    "=1+1",
    "🍅",
    "سلة",
    "x" * 5000,
    "a." * 300,
    "shelf",
    "box",
    "lettuce-butterhead",
    "basil",
    "tray",
    "nursery",
    "lux",
    "../..",
    "\ud800",
)

_NUMBER = re.compile(r"(?<![\w.-])\d+(?:\.\d+)?(?![\w:-])")
_DAY = re.compile(r"\d{4}-\d\d-\d\d(?:[T ]\d\d:\d\d(?::\d\d)?(?:[+-]\d\d:\d\d)?)?")
_TOKEN = re.compile(r"\w+|[^\w\s]")


def _put(text: str, match: re.Match[str], new: str) -> str:
    return text[: match.start()] + new + text[match.end() :]


def _character(text: str, rng: random.Random) -> str:
    at = rng.randrange(len(text) + 1)
    new = rng.choice(["", chr(rng.randrange(256)), rng.choice('"[]{}=,.#\n\r\\-0é\u2028')])
    return text[:at] + new + text[at + rng.randrange(2) :]


def _piece(text: str, rng: random.Random) -> str:
    first, last = sorted(rng.choices(range(len(text) + 1), k=2))
    return rng.choice([text[:first], text[:first] + text[last:], text + text[first:last]])


def _token(text: str, rng: random.Random) -> str:
    tokens = list(_TOKEN.finditer(text))
    if len(tokens) < 2:
        return text
    first, second = rng.sample(tokens, 2)
    return _put(text, first, rng.choice([second[0], "", f"{first[0]} {first[0]}", rng.choice(WORDS)]))


def _number(text: str, rng: random.Random) -> str:
    numbers = list(_NUMBER.finditer(text))
    if not numbers:
        return text
    match = rng.choice(numbers)
    scaled = f"{float(match[0]) * 10.0 ** rng.randint(-3, 2):.10g}"
    return _put(text, match, rng.choice([scaled, f"-{match[0]}", rng.choice(NUMBERS)]))


def _day(text: str, rng: random.Random) -> str:
    days = list(_DAY.finditer(text))
    return _put(text, rng.choice(days), rng.choice(DAYS)) if days else text


def _line(text: str, rng: random.Random) -> str:
    lines = text.splitlines(keepends=True)
    if len(lines) < 2:
        return text
    first, second = rng.sample(range(len(lines)), 2)
    match rng.randrange(5):
        case 0:
            del lines[first]
        case 1:
            lines.insert(second, lines[first])
        case 2:
            lines[first], lines[second] = lines[second], lines[first]
        case 3:
            lines.sort(reverse=rng.random() < 0.5)
        case _:
            lines[first] = lines[first].rstrip("\n") + rng.choice(["\r\n", "", "\r", " \\\n"])
    return "".join(lines)


def _table(text: str, rng: random.Random) -> str:
    """Change the tables of a space file, the columns of any other."""
    parts = re.split(r"(?m)^(?=\[)", text)
    if len(parts) < 3:
        rows = [line.split(",") for line in text.split("\n")]
        at = rng.randrange(max(map(len, rows)))
        for row in rows:
            if at < len(row):
                cell = row.pop(at)
                row.insert(rng.choice([0, len(row)]) if rng.random() < 0.01 else 0, cell)
        return "\n".join(map(rng.choice([",", ";", "\t"]).join, rows))
    first, second = rng.sample(range(len(parts)), 2)
    match rng.randrange(4):
        case 0:
            del parts[first]
        case 1:
            parts.insert(second, parts[first])
        case 2:
            parts[first], parts[second] = parts[second], parts[first]
        case _:
            parts[first] = parts[first].replace("[[", "[", 1).replace("]]", "]", 1)
    return "".join(parts)


MUTATIONS: tuple[Callable[[str, random.Random], str], ...] = (
    _character,
    _piece,
    _token,
    _token,
    _number,
    _number,
    _number,
    _day,
    _line,
    _table,
)


def mutated(text: str, rng: random.Random) -> str:
    """Return a text after one to three random mutations."""
    for _ in range(rng.choice([1, 1, 1, 2, 3])):
        text = rng.choice(MUTATIONS)(text, rng)
    return text

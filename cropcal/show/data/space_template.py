"""The commented space.toml that ``cropcal new`` writes."""

from collections.abc import Iterable, Sequence
from textwrap import wrap

from cropcal.letters import clean
from cropcal.records.answers import (
    Answers,
    Floor,
    LampAnswer,
    LampOnHours,
    PotBoxes,
    Price,
    Wish,
)

TRAY_SHARE = 0.3
"""Share of the floor's length that a tray beside boxes takes; assumed."""
STRIP_M2 = 0.04
"""Floor of a strip of a tray that is sown at once [m2]: a bowl or two of leaves (assumed)."""
MOST_STRIPS = 8
"""Most strips of a tray; assumed."""
MOST_SHARE = 0.5
"""Share that several trays together take; assumed."""


def space_toml(answers: Answers) -> str:
    """Return the text of a space file."""
    floor, wishes = answers.floor, answers.wishes
    has_trays = bool(answers.boxes.trays)
    has_pots = answers.boxes.count > 0 and (has_trays or any(not wish.in_tray for wish in wishes))
    beds = [_boxes(answers.boxes)] if has_pots else []
    if any(wish.has_nursery for wish in wishes):
        beds.append(_NURSERY.replace("@CELLS@", str(_cells(answers.boxes))))
    if has_trays or any(wish.in_tray for wish in wishes):
        beds.append(_trays(answers.boxes, floor, beside=has_pots))
    else:
        beds.append(_TRAY_COMMENT)
    parts = [
        _PLACE.replace("@NAME@", _quoted(answers.name)).replace("@ASSUMED@", _assumed(answers.guessed)),
        _zone(floor, answers.hours, answers.air_c),
        *beds,
        _lamp(answers.lamp, answers.gap_m),
        _READING,
        _tariff(answers.price),
        _PLAN.replace("@START@", answers.start.isoformat()).replace("@DAYS@", _days(answers.work_days)),
        _WANT_COMMENT + "\n".join(map(_want, wishes)),
        _CHORE,
    ]
    return "\n".join(parts)


def _assumed(guessed: Sequence[str]) -> str:
    """Return comment lines for what was taken without an answer; nothing if there was nothing."""
    if not guessed:
        return ""
    lines = [
        line
        for item in guessed
        for line in wrap(clean(item), 100, initial_indent="#   ", subsequent_indent="#     ")
    ]
    return "\n".join(["", "# Assumed; correct below what is wrong:", *lines]) + "\n"


def _days(names: Sequence[str]) -> str:
    return "[" + ", ".join(f'"{name}"' for name in names) + "]"


def _quoted(text: str) -> str:
    """Return a TOML basic string."""
    return '"' + clean(text).replace("\\", "\\\\").replace('"', '\\"') + '"'


def _line(key: str, value: str | None, example: str, why: str = "") -> str:
    """Return a TOML line with its value, or a commented example if there is none."""
    assignment = f"{key} = {value}" if value is not None else f"# {key} = {example}"
    return f"{assignment:<29} # {why}\n" if why else f"{assignment}\n"


def _stretches(pairs: Iterable[tuple[str, str]]) -> str:
    return "[" + ", ".join(f'["{start}", "{end}"]' for start, end in pairs) + "]"


def _zone(floor: Floor, hours: LampOnHours, air_c: tuple[float, float] | None) -> str:
    lit = _stretches(hours.lit) if hours.lit else None
    length = f"{hours.photoperiod_h:g}" if hours.photoperiod_h is not None else None
    quiet = f"[{{ hours = {_stretches(hours.quiet)} }}]" if hours.quiet else None
    wall = f"{floor.wall_reflectance:g}" if floor.wall_reflectance is not None else None
    on, off = (f"{value:g}" for value in air_c) if air_c else (None, None)
    either = "or photoperiod_h = 16; left out: picked"
    return (
        "# A zone is all that one lamp timer serves. Length and width are those of the lit floor.\n"
        f'[[zone]]\nname = "shelf"\nlength_m = {floor.length_m:g}\nwidth_m = {floor.width_m:g}\n'
        + (
            _line("photoperiod_h", length, "", 'hours of lamp light; or lit = [["06:00", "22:00"]]')
            if length
            else _line("lit", lit, '[["06:00", "22:00"]]', either)
        )
        + _line("quiet", quiet, '[{ hours = [["22:00", "07:00"]] }]', "when the lamp should be off")
        + _line(
            "wall_reflectance", wall, "0.8", "0 open, 0.85 foil on all sides; or [left, right, front, back]"
        )
        + _line("lamp_on_air_c", on, "23", "air among the leaves, lamp on and off; by default 21")
        + _line("lamp_off_air_c", off, "19")
        + _AIR
    )


def _boxes(boxes: PotBoxes) -> str:
    rows, columns = _grid(boxes.pots)
    texts = []
    for number in range(1, boxes.count + 1):
        name = "box" if boxes.count == 1 else f"box {number}"
        text = f'[[bed]]\nname = "{name}"\nzone = "shelf"\nrows = {rows}\ncolumns = {columns}\n'
        texts.append(text + _size(boxes.length_m, boxes.width_m, "0.5", "0.3"))
    return _BED_COMMENT + "\n".join(texts)


def _size(length_m: float | None, width_m: float | None, *examples: str) -> str:
    length, width = (f"{value:g}" if value is not None else None for value in (length_m, width_m))
    return _line("length_m", length, examples[0]) + _line("width_m", width, examples[1])


def _trays(boxes: PotBoxes, floor: Floor, *, beside: bool) -> str:
    """Return the trays there are; else one beside boxes of pots, or one for each box if none is for pots."""
    if boxes.trays or beside:
        count = boxes.trays or 1
        width = boxes.tray_width_m or floor.width_m
        share = (TRAY_SHARE if count == 1 else MOST_SHARE / count) if beside else 1 / count
        length = round(floor.length_m * share, 3)
        if beside and boxes.length_m is not None and boxes.width_m is not None:
            left = floor.length_m * floor.width_m - boxes.count * boxes.length_m * boxes.width_m
            length = round(max(min(length, 0.7 * left / width / count), 0.05), 3)
        length = boxes.tray_length_m or length
    else:
        count = max(boxes.count, 1)
        length, width = boxes.length_m or round(floor.length_m / count, 3), boxes.width_m or floor.width_m
    strips = max(1, min(round(length * width / STRIP_M2), MOST_STRIPS))
    texts = []
    for number in range(1, count + 1):
        name = "tray" if count == 1 else f"tray {number}"
        texts.append(
            f'[[bed]]\nname = "{name}"\nzone = "shelf"\nkind = "tray"\n'
            f"rows = 1\ncolumns = {strips:<19} # strips, sown in turn, for some leaves every week\n"
            f"length_m = {length:g}\nwidth_m = {width:g}\n"
        )
    return "# A tray is sown all over: baby leaf, microgreens, shoots.\n" + "\n".join(texts)


def _cells(boxes: PotBoxes) -> int:
    """Return the number of nursery cells: three for four pots, since seedlings wait half as long."""
    return max(6, -(-boxes.count * boxes.pots * 3 // 4))


def _grid(pots: int) -> tuple[int, int]:
    """Return rows and columns for ``pots`` pots, as square as possible."""
    rows = next(rows for rows in range(int(pots**0.5), 0, -1) if pots % rows == 0)
    return rows, pots // rows


def _lamp(lamp: LampAnswer, gap_m: float | None) -> str:
    kind = _quoted(lamp.kind) if lamp.kind else None
    known = None if lamp.metered is None else '"meter"' if lamp.metered else '"label"'
    better = '"meter" if a plug meter said so: then the light is known better'
    return (
        '[[fixture]]\nzone = "shelf"\n'
        + _line("lamp", kind, '"white LED"')
        + f"watts = {lamp.watts:g}\n"
        + (f"count = {lamp.count}\n" if lamp.count > 1 else "")
        + (f"ppf_umol_s = {lamp.ppf_umol_s:g}\n" if lamp.ppf_umol_s is not None else "")
        + _line("watts_from", known, '"label"', better)
        + _line(
            "lamp_to_canopy_m", None if gap_m is None else f"{gap_m:g}", "0.3", "down to the young plants"
        )
        + _LAMP_COMMENT
    )


def _tariff(price: Price | None) -> str:
    if price is None:
        return _TARIFF.replace("@CURRENCY@", '# currency = "EUR"').replace("@PRICE@", "0")
    currency = f'currency = "{price.currency}"' if price.currency else '# currency = "EUR"'
    return _TARIFF.replace("@CURRENCY@", currency).replace("@PRICE@", f"{price.per_kwh:g}")


def _want(wish: Wish) -> str:
    listed = ", ".join(f'"{name}"' for name in wish.crops)
    amount = None if wish.per_week is None else f"{wish.per_week:g}"
    unit = "bowls" if wish.in_bowls else wish.unit
    usual = {"heads": "2", "bowls": "3"}.get(unit, "50")
    return (
        "".join(f"{line}\n" for line in wrap(wish.why, 100, initial_indent="# ", subsequent_indent="# "))
        + f"[[want]]\ncrops = [{listed}]\n"
        + _line("per_week", amount, usual, unit)
        + ('unit = "bowls"                # of 60 g; bowl_g = 80 for larger ones\n' if wish.in_bowls else "")
        + (f"until = {wish.until.isoformat():<21} # then other leaves are ready\n" if wish.until else "")
        + ("variety = true                # not the same crop every week\n" if wish.variety else "")
    )


_PLACE = """\
# A growing space for cropcal. Everything after a # is a comment; units are in the names.
# Check it with `cropcal check`, see the light with `cropcal light`, plan with `cropcal plan`.
@ASSUMED@
[place]
name = @NAME@
# With a window: where it is, by its own clock; south and west negative. `cropcal daylight` shows the year.
# timezone = "Europe/Vienna"
# latitude = 48.2
# longitude = 16.4
# outdoor_kwh_m2_d = [0.9, 1.7, 2.9, 4.2, 5.3, 5.7, 5.7, 4.9, 3.5, 2.1, 1.0, 0.7]  # mean day of each month
"""

_AIR = """\
# room_c = 20                 # or the air of the room around it, from which lamp heat is worked out,
# fan_m3_h = 60               # and what a fan blows through a closed box; 0 for a box without one
# air_moving = true           # a small fan moves the leaves
# daylight_share = 0.1        # share of outdoor daylight that reaches the leaves; or 12, by month
# watered = "flood"           # or "drip", "film", "deep water", "hand": then the plan says how often
# tank_l = 40                 # litres of solution in its tank: then top-ups and changes are jobs
# pot_l = 0.3                 # litres of a pot
"""

_BED_COMMENT = """\
# A bed is a box, tray or shelf of equal sites (pots, net cups). Where it lies on the floor, if you know:
# x_m and y_m of its front left corner. Without a size it gets its share of the floor.
"""

_NURSERY = """\
# Seedlings wait in the nursery, close together, until a pot is free. Delete it to sow in place.
[[bed]]
name = "seedlings"
zone = "shelf"
kind = "nursery"
sites = @CELLS@
"""

_TRAY_COMMENT = """\
# A tray is sown all over: baby leaf, microgreens, shoots.
# [[bed]]
# name = "tray"
# zone = "shelf"
# kind = "tray"
# rows = 1
# columns = 4                 # strips, sown in turn
# length_m = 0.25
# width_m = 0.5
"""

_LAMP_COMMENT = """\
# standby_watts = 0.5         # what it draws when off
# ppf_umol_s = 200            # from the spec sheet, if it is there: better still
# dims_to = 0.4               # if it can be turned down: the least share of full
# length_m = 0.6              # size of the panel's lit face: then dim corners are planned apart
# width_m = 0.3
"""

_READING = """\
# A light meter's readings over the pots are best of all, in µmol/m²/s, all lamps on:
# [[reading]]
# bed = "box"
# umol_m2_s = [[180, 210], [190, 220]]
# A phone that shows lux is good enough under a white lamp; then write, instead of umol_m2_s:
# lux = [[12500, 14500], [13000, 15000]]
# read_with = "phone"         # "meter" if it was a lux meter
"""

_TARIFF = """\
[tariff]
@CURRENCY@
[[tariff.rate]]
name = "day"
per_kwh = @PRICE@
# [[tariff.rate]]
# name = "night"
# per_kwh = 0.2
# hours = [["23:00", "07:00"]]  # also days = ["sat", "sun"] and months = [11, 12, 1, 2]
# More that a bill may have goes under [tariff]: standing_per_day, standing_per_month, tax_percent,
# prices_include_tax, holidays = [2027-12-25] (priced as Sundays), round = "total" or "line". Prices by
# blocks of use: blocks = [{ up_to_kwh = 250, per_kwh = 0.2 }, { per_kwh = 0.25 }] in place of per_kwh,
# and other_use_kwh_per_month = 200 under [tariff], for what the home uses without the space.

# Pumps, fans and mats draw power too:
# [[load]]
# name = "pump"
# watts = 12
# on_minutes = 15               # or always = true, hours_per_day = 2, on = [["06:00", "22:00"]]
# every_minutes = 120
# silent = true                 # nobody hears it: it may run in the zone's quiet hours
"""

_PLAN = """\
[plan]
start = @START@
weeks = 26
work_days = @DAYS@
# breaks = [["2027-04-05", "2027-04-11"]]     # nobody there
# sow = "safe"                  # sows more against bad luck, "sparing" less; by default "usual"
# most_minutes_a_day = 40       # work on one day; what can wait goes to another
# eat_within_d = 3              # days within which what is cut is eaten; by default as long as it keeps
"""

_WANT_COMMENT = """\
# What you would like to eat: any of these crops, and how much a week; without a number, as much as fits.
# `cropcal crops` lists the crops. cut_at_g = 60 has heads and bunches cut at that weight of one plant.
"""

_CHORE = """\
[[chore]]
name = "change the solution"
every_days = 14
# any_day = true              # a look that needs no work day; with every_days = 1 it is daily

# Who eats it, and whether small children come near it, for the cautions of `cropcal care`:
# [care]
# eaten_by = "guests"         # or "school", "frail" (a hospital, a home for the old); by default "household"
# children = true

# Seed that you have is taken off what the plan says to buy:
# [[seed]]
# crop = "basil"
# seeds = 200                 # or g = 1.5
# year = 2026                 # packed then
# counted = 2027-01-04        # there was that much on that day; by default on the first day of the plan
"""

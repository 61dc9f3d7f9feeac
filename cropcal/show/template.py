"""The commented space.toml that ``cropcal new`` writes."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Answers:
    """What a newcomer said about the space, or took as it came."""

    name: str
    length_m: float
    width_m: float
    pots: int
    watts: float
    photoperiod_h: float | None
    price: float
    crops: tuple[str, ...]
    start: date


def space_toml(answers: Answers, units: Sequence[str]) -> str:
    """Return the text of a space file. ``units`` are those of the crops, in their order."""
    parts = [_PLACE, _ZONE, _BEDS, _LAMP, _TARIFF, _PLAN, *_wants(answers.crops, units), _CHORE]
    rows, columns = _grid(answers.pots)
    filled = "\n".join(parts)
    for key, value in {
        "NAME": _quoted(answers.name),
        "LENGTH": f"{answers.length_m:g}",
        "WIDTH": f"{answers.width_m:g}",
        "HOURS": _hours(answers.photoperiod_h),
        "ROWS": str(rows),
        "COLUMNS": str(columns),
        "BED_LENGTH": f"{round(answers.length_m * 0.8, 3):g}",
        "NURSERY_LENGTH": f"{round(answers.length_m * 0.2, 3):g}",
        "WATTS": f"{answers.watts:g}",
        "PRICE": f"{answers.price:g}",
        "START": answers.start.isoformat(),
    }.items():
        filled = filled.replace(f"@{key}@", value)
    return filled


def _quoted(text: str) -> str:
    """Return a TOML basic string."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(char if char.isprintable() else " " for char in escaped) + '"'


def _hours(photoperiod_h: float | None) -> str:
    """Return the line that gives the hours, or how it would look."""
    return "# photoperiod_h = 16" if photoperiod_h is None else f"photoperiod_h = {photoperiod_h:g}"


def _grid(pots: int) -> tuple[int, int]:
    """Return rows and columns for so many pots, as square as they come."""
    rows = next(rows for rows in range(int(pots**0.5), 0, -1) if pots % rows == 0)
    return rows, pots // rows


def _wants(crops: Sequence[str], units: Sequence[str]) -> list[str]:
    """Return one want for all crops counted in heads, and one for each crop by weight."""
    heads = [crop for crop, unit in zip(crops, units, strict=True) if unit == "heads"]
    wants = [heads] if heads else []
    wants += [[crop] for crop, unit in zip(crops, units, strict=True) if unit != "heads"]
    texts = []
    for number, names in enumerate(wants):
        amount = "2        # heads" if number == 0 and heads else "50       # g"
        listed = ", ".join(f'"{name}"' for name in names)
        comment = _WANT_COMMENT if number == 0 else ""
        texts.append(f"{comment}[[want]]\ncrops = [{listed}]\n# per_week = {amount}\n")
    return texts


_PLACE = """\
# A growing space for cropcal. Everything after a # is a comment; units stand in the names.
# Check it with `cropcal check`, see the light with `cropcal light`, plan with `cropcal plan`.

[place]
name = @NAME@
"""

_ZONE = """\
# A zone is what one lamp timer and one air serve. Length and width are those of the lit floor.
[[zone]]
name = "shelf"
length_m = @LENGTH@
width_m = @WIDTH@
@HOURS@         # hours of lamp light; or lit = [["06:00", "22:00"]]; left out: picked
# quiet = [{ hours = [["22:00", "07:00"]] }]   # when the lamp had better be off
# wall_reflectance = 0.8      # 0 open shelf, 0.9 white or foil all round; or [left, right, front, back]
# lamp_on_air_c = 23          # air among the leaves, lamp on and off; else 21 is assumed
# lamp_off_air_c = 19
# room_c = 20                 # or the air of the room around it, from which lamp heat is reckoned,
# fan_m3_h = 60               # with what a fan blows through a closed box; 0 for a box without one
# air_moving = true           # a small fan moves the leaves
"""

_BEDS = """\
# A bed is a box, tray or shelf of equal sites (pots, net cups).
[[bed]]
name = "pots"
zone = "shelf"
rows = @ROWS@
columns = @COLUMNS@
length_m = @BED_LENGTH@
width_m = @WIDTH@
x_m = 0.0                     # front left corner of the bed on the floor
y_m = 0.0

# Seedlings wait in the nursery, close together, until a pot is free. Take it out to sow in place.
[[bed]]
name = "seedlings"
zone = "shelf"
kind = "nursery"
sites = 12
length_m = @NURSERY_LENGTH@
width_m = @WIDTH@
x_m = @BED_LENGTH@
y_m = 0.0

# A tray is sown all over: baby leaf, microgreens, shoots.
# [[bed]]
# name = "tray"
# zone = "shelf"
# kind = "tray"
# length_m = 0.25
# width_m = 0.5
"""

_LAMP = """\
[[fixture]]
zone = "shelf"
lamp = "white LED"
watts = @WATTS@
watts_from = "label"          # "meter" if a plug meter said so: then the light is known better
# standby_watts = 0.5         # what it draws when off
lamp_to_canopy_m = 0.3        # from the lamp down to the young plants; grown ones stand nearer
# ppf_umol_s = 200            # from the spec sheet, if it says so: better still
# dims_to = 0.4               # if it can be turned down: the least share of full
# length_m = 0.6              # size of the panel's shining face: then dim corners are told from the middle
# width_m = 0.3

# A light meter's readings over the pots are best of all, in umol m-2 s-1, all lamps on:
# [[reading]]
# bed = "pots"
# umol_m2_s = [[180, 210], [190, 220]]
# A phone that shows lux will do under a white lamp; then write, instead of umol_m2_s:
# lux = [[12500, 14500], [13000, 15000]]
# read_with = "phone"         # "meter" if it was a lux meter
"""

_TARIFF = """\
[tariff]
currency = "EUR"
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
"""

_PLAN = """\
[plan]
start = @START@
weeks = 26
work_days = ["wed", "sat"]
# breaks = [["2027-04-05", "2027-04-11"]]     # nobody there
"""

_WANT_COMMENT = """\
# What you would like to eat: any of these crops, so much a week; without a number, as much as fits.
# `cropcal crops` lists the crops.
"""

_CHORE = """\
[[chore]]
name = "change the solution"
every_days = 14
"""

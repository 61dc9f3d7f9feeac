"""Words for the tables and keys of space.toml, as the form of the space shows them."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True)
class Words:
    """A field: its label, a hint, and whether it is among the usual ones, which are not folded away."""

    label: str
    hint: str = ""
    usual: bool = False


@dataclass(frozen=True)
class TableWords:
    """A table: the title of its section, what one row is called, and a sentence for a reader."""

    title: str
    row: str
    about: str = ""


TABLES: Final[Mapping[str, TableWords]] = {
    "place": TableWords("The place", "place"),
    "zone": TableWords("Zones", "zone", "A zone has one lamp timer and one air."),
    "fixture": TableWords("Lamps", "lamp", "Lamps of one kind over a zone."),
    "bed": TableWords("Beds", "bed", "A box, tray or shelf of equal places, inside a zone."),
    "reading": TableWords("Light readings", "reading", "What a light meter or a phone read over a bed."),
    "want": TableWords("What is wanted", "want", "Any of some crops, so much a week."),
    "plan": TableWords("Work days and plan", "plan"),
    "tariff": TableWords("Price of power", "price of power"),
    "tariff.rate": TableWords(
        "Prices by hour", "price", "One without hours, days and months holds at all other times."
    ),
    "load": TableWords("Pumps, fans and other devices", "device", "Whatever draws power beside the lamps."),
    "chore": TableWords("Regular jobs", "job", "Jobs that come round whatever grows."),
    "growing": TableWords("What grew at the start", "row", "Plants that stood when planning began."),
    "seed": TableWords("Seed in the drawer", "seed", "Seed that need not be bought."),
    "care": TableWords("Who eats, who comes near", "care"),
    "plan.prices": TableWords(
        "What weighs against a missing week", "weights", "In weeks without one want; empty: as usual."
    ),
}
"""In the order in which the page has them."""

_SIDES = "one number for all sides, or left, right, front, back"
_MONTHS = "one number, or twelve, from January"
_HOURS = "like 17:30-09:30 or 6am to 10pm; several with commas"
_X = "from the left edge of the zone to the left edge of it"
_Y = "from the front edge of the zone to the front edge of it"

FIELDS: Final[Mapping[str, Mapping[str, Words]]] = {
    "place": {
        "name": Words("Name", usual=True),
        "timezone": Words("Time zone", "like Europe/Dublin", usual=True),
        "latitude": Words("Latitude", "degrees, south of the equator below 0"),
        "longitude": Words("Longitude", "degrees, west of Greenwich below 0"),
        "outdoor_kwh_m2_d": Words("Sun outdoors", "mean day of each month, twelve numbers from January"),
        "mains_v": Words("Voltage of the mains"),
        "supply_a": Words("Current of the supply", "only if an electrician laid out a line for the space"),
    },
    "zone": {
        "name": Words("Name", "notes and plans use it, so change it early", usual=True),
        "length_m": Words("Length of the lit floor", "also like 110 cm", usual=True),
        "width_m": Words("Width of the lit floor", usual=True),
        "lit": Words("Lamp on", _HOURS, usual=True),
        "photoperiod_h": Words(
            "Hours of light a day", "instead of clock times; with neither, good hours are picked", usual=True
        ),
        "quiet": Words("Quiet hours", "lamp and fans off; a line each, like 09:00-11:00 thu"),
        "wall_reflectance": Words(
            "Light thrown back by the walls", f"0 open, 0.8 white; {_SIDES}", usual=True
        ),
        "timer_follows_clock": Words("The timer follows summer time"),
        "lamp_on_air_c": Words("Air with the lamp on", usual=True),
        "lamp_off_air_c": Words("Air with the lamp off", usual=True),
        "air_c": Words("Air all day", "instead of lamp on and off"),
        "room_c": Words("Air of the room around", "the air of the zone is then computed"),
        "fan_m3_h": Words("Room air that a fan blows through"),
        "loss_w_per_k": Words("Heat lost through the walls"),
        "air_moving": Words("A fan moves the leaves", usual=True),
        "co2": Words("Carbon dioxide"),
        "daylight_share": Words(
            "Share of outdoor light that reaches the leaves", f"0 without a window; {_MONTHS}"
        ),
        "watered": Words("How roots get their water"),
        "tank_l": Words("Water in the tank when full"),
        "pot_l": Words("Volume of a pot"),
    },
    "fixture": {
        "zone": Words("Over the zone", usual=True),
        "lamp": Words("Kind of lamp", usual=True),
        "count": Words("How many of them", usual=True),
        "watts": Words("Power of one", usual=True),
        "watts_from": Words("Power known from", usual=True),
        "lamp_to_canopy_m": Words("From the lamp down to the leaves", "also like 35 cm", usual=True),
        "output": Words("Turned down to", "share of full at which power and light were read: 1 is full"),
        "dims_to": Words("Can be turned down to", "share of full"),
        "standby_watts": Words("Power when off"),
        "clearance_m": Words("Least distance to leaves by its maker"),
        "ppf_umol_s": Words("Light of one", "photon flux on its data sheet"),
        "length_m": Words("Length of its shining face"),
        "width_m": Words("Width of its shining face"),
        "x_m": Words("Place from the left", _X),
        "y_m": Words("Place from the front", _Y),
    },
    "bed": {
        "name": Words("Name", "notes and plans use it, so change it early", usual=True),
        "zone": Words("In the zone", usual=True),
        "kind": Words("Kind", "places for single plants, a tray sown all over, or a nursery", usual=True),
        "sites": Words("Places", "or rows and columns", usual=True),
        "rows": Words("Rows", usual=True),
        "columns": Words("Columns", usual=True),
        "length_m": Words("Length", "also like 90 cm", usual=True),
        "width_m": Words("Width", usual=True),
        "x_m": Words("Place from the left", _X),
        "y_m": Words("Place from the front", _Y),
        "headroom_m": Words("Height for plants"),
        "lamp_to_canopy_m": Words("From the lamp down to the leaves", "only if not as for the lamp"),
        "crops": Words("Only these crops grow in it"),
        "out_of_use": Words("Out of use", 'as in the file: [{ sites = "1-3", until = 2027-03-01 }]'),
    },
    "reading": {
        "bed": Words("Over the bed", usual=True),
        "umol_m2_s": Words(
            "Light meter", "a line for each row, from the front, numbers from the left", usual=True
        ),
        "lux": Words("Lux", "instead of a light meter", usual=True),
        "read_with": Words("Lux read with", usual=True),
        "on": Words("Read on", usual=True),
    },
    "want": {
        "crops": Words("Any of these crops", usual=True),
        "per_week": Words("How much a week", "empty: as much as fits", usual=True),
        "unit": Words("Counted in", usual=True),
        "bowl_g": Words("Leaves in a bowl"),
        "on": Words("On these days only", "dates like 2027-05-14, with commas"),
        "amount": Words("How much on each of these days"),
        "share": Words("Weight against other wants", "without a number: 2 is twice as much"),
        "variety": Words("Varied", "one crop is at most three quarters of two weeks"),
        "plugs": Words("Bought as young plants"),
        "plug_age_d": Words("Age of bought plants"),
        "cut_at_g": Words(
            "Cut at a weight of", "grams of one plant; or a line for each crop, like basil: 20"
        ),
        "beds": Words("Only in these beds"),
        "zones": Words("Only in these zones"),
        "from": Words("Wanted from", usual=True),
        "until": Words("Wanted until", usual=True),
    },
    "plan": {
        "start": Words("First day", usual=True),
        "weeks": Words("Weeks ahead", usual=True),
        "work_days": Words("Work days", usual=True),
        "harvest_days": Words("Harvest days", "if not the work days"),
        "breaks": Words("Away", "a line each, like 2027-03-26 to 2027-04-07", usual=True),
        "most_minutes_a_day": Words("Most work on one day"),
        "sow": Words("How much is sown against bad luck", usual=True),
        "clean_days": Words("Days to clean a bed"),
        "eat_within_d": Words("Eaten within"),
        "service": Words("Chance of each wanted week", "of older files; better: how much is sown"),
        "prices": Words("Weights"),
    },
    "plan.prices": {
        "surplus": Words("A week's worth that is not eaten"),
        "cell": Words("A cell that is sown"),
        "sowing": Words("A crop sown on a day"),
        "seed": Words("One seed"),
        "minute": Words("A minute of work"),
        "site_week": Words("A place in the light for a week"),
    },
    "tariff": {
        "currency": Words("Currency", "like EUR", usual=True),
        "standing_per_day": Words("Standing charge a day", usual=True),
        "standing_per_month": Words("Standing charge a month"),
        "tax_percent": Words("Tax", usual=True),
        "prices_include_tax": Words("Prices include tax", usual=True),
        "other_use_kwh_per_month": Words("What the home uses besides", "it fills cheap blocks first"),
        "holidays": Words("Holidays, priced as Sundays", "dates like 2027-05-14, with commas"),
        "round": Words("Rounded"),
        "rate": Words("Prices by hour"),
    },
    "tariff.rate": {
        "name": Words("Name", "like night", usual=True),
        "per_kwh": Words("Price of a kWh", usual=True),
        "hours": Words("Hours", _HOURS, usual=True),
        "days": Words("Days"),
        "months": Words("Months", "numbers with commas: 1 is January"),
        "blocks": Words(
            "By blocks", "as in the file: [{ up_to_kwh = 100, per_kwh = 0.2 }, { per_kwh = 0.3 }]"
        ),
    },
    "load": {
        "name": Words("Name", usual=True),
        "zone": Words("For the zone", "empty: for all", usual=True),
        "watts": Words("Power", usual=True),
        "always": Words("Always on", usual=True),
        "hours_per_day": Words("Hours a day", usual=True),
        "on": Words("On", _HOURS, usual=True),
        "on_minutes": Words("Runs for", usual=True),
        "every_minutes": Words("Starts every", usual=True),
        "silent": Words("Nobody hears it"),
    },
    "chore": {
        "name": Words("Job", usual=True),
        "every_days": Words("Every", usual=True),
        "any_day": Words("On any day", "not only on work days"),
        "minutes": Words("Takes"),
    },
    "growing": {
        "crop": Words("Crop", usual=True),
        "bed": Words("Bed", usual=True),
        "sites": Words("Places or cells", usual=True),
        "sown": Words("Sown on", usual=True),
        "age_d": Words("Age at the start", "instead of the day", usual=True),
    },
    "seed": {
        "crop": Words("Crop", usual=True),
        "seeds": Words("Number of seeds", usual=True),
        "g": Words("Or weight", usual=True),
        "year": Words("Packed in", usual=True),
        "counted": Words("Counted on"),
    },
    "care": {
        "eaten_by": Words("Eaten by", usual=True),
        "children": Words("Small children come near", usual=True),
    },
}
"""Words of each key, in the order in which the form has them."""

CHOICES: Final[Mapping[str, str]] = {
    "meter": "a meter", "label": "its label", "phone": "a phone", "sites": "places for single plants",
    "tray": "a tray, sown all over", "nursery": "a nursery of seedlings", "ambient": "as in the air",
    "enriched": "added", "sparing": "sparingly", "usual": "as usual", "safe": "safely", "total": "the total",
    "line": "each line", "mon": "Mon", "tue": "Tue", "wed": "Wed", "thu": "Thu", "fri": "Fri", "sat": "Sat",
    "sun": "Sun",
}  # fmt: skip
"""What a choice is called, where the file's own word says too little."""

_WHOLE_NAMES: Final[Mapping[str, str]] = {
    "watts": "W", "standby_watts": "W", "on_minutes": "min", "every_minutes": "min", "minutes": "min",
    "most_minutes_a_day": "min", "weeks": "weeks", "every_days": "days", "clean_days": "days", "g": "g",
    "tax_percent": "%", "hours_per_day": "h", "lux": "lux",
}  # fmt: skip
_ENDINGS: Final[Mapping[str, str]] = {
    "_umol_m2_s": "µmol/m² s", "umol_m2_s": "µmol/m² s", "_umol_s": "µmol/s", "_kwh_m2_d": "kWh/m² a day",
    "_kwh_per_month": "kWh a month", "_m3_h": "m³/h", "_w_per_k": "W/K", "_m": "m", "_c": "°C", "_h": "h",
    "_v": "V", "_a": "A", "_g": "g", "_d": "days", "_l": "l",
}  # fmt: skip


def words_of(table: str, key: str) -> Words:
    """Return the words of a key; one that the table lacks is called by its own name, and folded away."""
    known = FIELDS.get(table, {}).get(key)
    return known or Words(key.replace("_", " ").capitalize())


def unit_of(key: str) -> str:
    """Return the unit of a key, "" if it has none: most keys end in theirs."""
    if key in _WHOLE_NAMES:
        return _WHOLE_NAMES[key]
    return next((unit for ending, unit in _ENDINGS.items() if key.endswith(ending)), "")

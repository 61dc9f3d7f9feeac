"""Spaces whose pages are opened in a browser: small, large and empty, with names of every kind.

All places are invented.
"""

import json

from space_sizes import SIZES

LONG = "the grey shelf that was carried home from the market on a Sunday in the rain"
UNBROKEN = "Kellertreppenabsatzwandregalbrettoberseitenpflanzkastenreihe"
HOSTILE = ("<script>alert(1)</script>", '=HYPERLINK("x")', "A;B, C", "</script><!-- '\"> & {{ 7*7 }}")
TWELVE = (
    "lettuce-butterhead", "lettuce-romaine", "lettuce-looseleaf", "pak-choi", "basil", "parsley",
    "chard", "kale", "watercress", "cilantro", "dill", "mint",
)  # fmt: skip


def space(
    place="Low pantry",
    zone="pantry",
    bed="plain box",
    *,
    rows=2,
    columns=4,
    crops=("lettuce-butterhead",),
    weeks=12,
    lit='lit = [["18:00", "10:00"]]',
    watts=90,
    more="",
    placed=True,
    tariff=True,
):
    """Return the text of a space file; names may hold anything: JSON strings are TOML strings."""
    place, zone, bed = (json.dumps(name, ensure_ascii=False) for name in (place, zone, bed))
    length, width = 0.14 * columns, 0.14 * rows
    at = f"x_m = 0.05\ny_m = 0.05\nlength_m = {length:g}\nwidth_m = {width:g}" if placed else ""
    wants = "".join(f'[[want]]\ncrops = ["{crop}"]\n' for crop in crops)
    prices = '[tariff]\ncurrency = "NOK"\n[[tariff.rate]]\nper_kwh = 1.9\n' if tariff else ""
    return f"""
[place]
name = {place}
timezone = "Europe/Oslo"
[[zone]]
name = {zone}
length_m = {length + 0.1:g}
width_m = {width + 0.1:g}
{lit}
air_c = 21
air_moving = true
wall_reflectance = 0.8
[[bed]]
name = {bed}
zone = {zone}
rows = {rows}
columns = {columns}
{at}
[[fixture]]
zone = {zone}
watts = {watts}
watts_from = "meter"
lamp_to_canopy_m = 0.4
{more}
{prices}
[plan]
start = 2027-01-04
weeks = {weeks}
breaks = [["2027-02-15", "2027-02-20"]]
{wants}
[[chore]]
name = "look at the roots"
every_days = 14
"""


NURSERY = """
[[bed]]
name = "sill"
zone = "pantry"
kind = "nursery"
sites = 30
[[bed]]
name = "trays"
zone = "pantry"
kind = "tray"
sites = 2
[[load]]
name = "pump"
watts = 9
always = true
"""

SPACES = {
    "one site": space(rows=1, columns=1, watts=16, weeks=18, tariff=False, lit="photoperiod_h = 16"),
    "eight sites": space(
        crops=("lettuce-butterhead", "basil", "microgreens-brassica"), watts=100, more=NURSERY, weeks=20
    ),
    "sixty sites": space(
        LONG, "pantry", UNBROKEN, rows=5, columns=12, crops=TWELVE, weeks=52, watts=420, more=NURSERY, lit=""
    ),
    "right to left and emoji": space(
        "מדף הסלט שלי", "غرفة النمو", "🌱🥬 صندوق 👩‍🌾", crops=("lettuce-butterhead", "mint"), weeks=16
    ),
    "long names": space(LONG, LONG[4:], UNBROKEN, placed=False, weeks=16),
    "hostile names": space(
        *HOSTILE[:3], more=f"[[load]]\nname = {json.dumps(HOSTILE[3])}\nwatts = 4\nalways = true"
    ),
    "empty": space("Dark cellar", watts=3),
    **{f"{sites} sites": text for sites, text in SIZES.items()},
}

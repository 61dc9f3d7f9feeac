"""How long the choice of hours takes, and how much memory: zones × 96 starts × 81 lengths × outputs.

``python tests/benchmarks/bench_hours.py`` prints a table. It asserts nothing: time is looked at only.
"""

import tracemalloc
from datetime import date
from time import perf_counter

from cropcal.planning.photoperiod.advice import advice
from cropcal.planning.photoperiod.fill_hours import zone_case
from cropcal.planning.power.quarter_hour_prices import quarter_prices
from cropcal.planning.site.bed_light import bed_lights
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.read import read_space_text

ZONE = """
[[zone]]
name = "shelf {n}"
length_m = 1.0
width_m = 0.5
lamp_on_air_c = 23
lamp_off_air_c = 19
air_moving = true
quiet = [{{ hours = [["09:00", "12:00"]], days = ["thu"] }}]
[[bed]]
name = "box {n}"
zone = "shelf {n}"
rows = 2
columns = 5
length_m = 0.5
width_m = 0.5
[[bed]]
name = "tray {n}"
zone = "shelf {n}"
kind = "tray"
sites = 2
length_m = 0.5
width_m = 0.5
[[fixture]]
zone = "shelf {n}"
watts = {watts}
dims_to = 0.6
[[reading]]
bed = "box {n}"
umol_m2_s = [[160, 210, 240, 220, 165], [150, 205, 233, 210, 155]]
"""
REST = """
[tariff]
[[tariff.rate]]
per_kwh = 0.3
[[tariff.rate]]
name = "night"
per_kwh = 0.15
hours = [["23:30", "06:30"]]
[plan]
start = 2027-01-04
weeks = 52
[[want]]
crops = ["lettuce-butterhead", "lettuce-looseleaf"]
[[want]]
crops = ["basil"]
[[want]]
crops = ["spinach-baby", "microgreens-brassica"]
"""


def main() -> None:
    """Print seconds and peak memory of the pick, and of the whole advice, by number of zones."""
    tables, _ = read_crop_tables(None)
    assert tables is not None
    print("| zones | pick s | pick peak MB | advice s |\n| ---: | ---: | ---: | ---: |")
    for zones in (1, 2, 5, 10):
        text = "".join(ZONE.format(n=n, watts=60 + n) for n in range(zones)) + REST
        space, problems = read_space_text(text, tables, today=date(2027, 1, 1))
        assert space is not None, problems
        began = perf_counter()
        _pick(space, tables)
        pick_s = perf_counter() - began
        tracemalloc.start()
        _pick(space, tables)
        peak_mb = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
        began = perf_counter()
        advice(space, tables)
        print(f"| {zones} | {pick_s:.2f} | {peak_mb:.0f} | {perf_counter() - began:.2f} |")


def _pick(space, tables) -> None:
    lights, prices = bed_lights(space, tables), quarter_prices(space)
    for zone in space.zones:
        zone_case(space, tables, lights, zone, prices)


if __name__ == "__main__":
    main()

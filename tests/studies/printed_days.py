"""Days from seed to the first cut in an ordinary room, beside printed ranges.

``python tests/studies/printed_days.py`` prints the table. The room: 21 C in the mean, a fan, 243 umol for
16 h (14.0 mol), seedlings under 200 umol, no journal. Each crop stands as densely as in its reference
harvest, and is cut at its mass. The pace at which a home begins was chosen with these ranges in sight.
"""

import csv
import sys
from pathlib import Path
from typing import NamedTuple

from cropcal.planning.growth.crop_growth import grow
from cropcal.planning.site.growing_conditions import GrowingConditions
from cropcal.reading.crops.read import read_crop_tables
from cropcal.records.crop import Crop, CropTables

PRINTED = Path(__file__).resolve().parents[1] / "reference" / "harvest_days_printed.csv"
SITES_M2 = 50
"""Sites on a square metre of a newcomer's box."""


class Row(NamedTuple):
    """One crop: days at its own density and in a box of 50 sites a square metre, and the printed range."""

    crop: str
    own_d: float
    box_d: float | None
    low_d: float
    high_d: float
    source: str

    @property
    def inside(self) -> bool:
        """Return whether the days at its own density lie within the printed range."""
        return self.low_d <= round(self.own_d) <= self.high_d


def room(dli_mol_m2_d: float, site_area_m2: float) -> GrowingConditions:
    """Return the growing conditions of the room."""
    return GrowingConditions(
        bed="bed",
        dli_mol_m2_d=dli_mol_m2_d,
        sd_ln_light=0.2,
        photoperiod_h=16,
        air_c=21,
        air_moving=True,
        co2_enriched=False,
        site_area_m2=site_area_m2,
    )


def days(crop: Crop, tables: CropTables, clumps_m2: float) -> float | None:
    """Return the days from seed to the first cut, None if it never gets ready."""
    nursery = room(11.52, 1 / crop.nursery_plants_m2) if crop.nursery_d and crop.nursery_plants_m2 else None
    grown = grow(crop, tables, room(14.0, 1 / clumps_m2), nursery)
    return None if grown is None else float(grown.ready_d[1, 0])


def table() -> list[Row]:
    """Return a row for each crop with a printed range."""
    tables, _ = read_crop_tables(None)
    lines = PRINTED.read_text(encoding="utf-8").splitlines()
    rows = []
    for line in csv.DictReader(line for line in lines if not line.startswith("#")):
        crop = tables.crops[line["crop"]]
        in_pots = crop.kind not in ("tray", "shoots")
        own = days(crop, tables, crop.anchor_plants_m2 / crop.plants_per_site if in_pots else 10)
        box = days(crop, tables, SITES_M2) if in_pots else None
        assert own is not None
        rows.append(Row(crop.slug, own, box, float(line["low_d"]), float(line["high_d"]), line["source"]))
    return rows


def main() -> None:
    """Print the table."""
    sys.stdout.write(f"{'crop':<22} {'own':>4} {'box':>4}  {'printed':>7}\n")
    for row in table():
        box = "" if row.box_d is None else f"{row.box_d:.0f}"
        beyond = "" if row.inside else "  outside"
        span = f"{row.low_d:g}-{row.high_d:g}"
        sys.stdout.write(f"{row.crop:<22} {row.own_d:>4.0f} {box:>4}  {span:>7}{beyond}\n")


if __name__ == "__main__":
    main()

"""When one sowing is ready, by the journal and the learned growth rates."""

from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING

from cropcal.records.crop import CropTables, cut_at
from cropcal.records.space import Space
from cropcal.season.beside import Noted
from cropcal.season.learned import learned_paces
from cropcal.season.load import crop_named, refuse_one, wanted_slugs

if TYPE_CHECKING:  # it loads numpy, which not every command needs
    from cropcal.planning.forecast import Unanswered
    from cropcal.records.forecast import Forecast


def forecast_of(
    path: Path,
    journal: Noted,
    space: Space,
    tables: CropTables,
    name: str,
    bed_name: str | None,
    on: date,
) -> "Forecast | Unanswered":
    """Return the forecast of a sowing of a crop on a day, in the named bed or the first it can grow in.

    ``name`` is its slug, or another name of it; of several crops of that name one that is wanted is meant.

    Raises
    ------
    SpaceError
        If there is no such crop or bed, or the journal has mistakes.
    """
    from cropcal.planning.forecast import beds_for, forecast
    from cropcal.planning.site.bed_light import bed_lights

    slug = crop_named(name, "CROP", tables, wanted_slugs(space))
    crop = cut_at(tables.crops[slug], space.cut_at(slug))
    beds = beds_for(crop, space)
    if bed_name is not None and bed_name not in {bed.name for bed in beds}:
        fitting = tuple(bed.name for bed in beds)
        refuse_one("--bed", f'"{bed_name}"', f"a bed that {crop.name} grows in", nearest(bed_name, fitting))
    if not beds:
        kind = "a tray" if crop.kind in ("tray", "shoots") else "a bed with sites"
        refuse_one(str(path), f"no bed for {crop.name}", f'{kind} in the file, kind = "tray" or "sites"')
    bed = next((bed for bed in beds if bed.name == bed_name), beds[0])
    lights = bed_lights(space, tables)
    paces = learned_paces(journal, space, tables, lights)
    return forecast(space, tables, lights, crop, bed, on, paces)


def nearest(word: str, valid: tuple[str, ...]) -> str:
    """Return a hint: the nearest valid word, or the list of them."""
    near = get_close_matches(word, valid, n=1)
    if near:
        return f'did you mean "{near[0]}"?'
    return "one of " + ", ".join(valid[:8]) if valid else ""

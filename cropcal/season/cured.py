"""Verdicts with cures that were computed, in words."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from cropcal.records.crop import CropTables
from cropcal.records.fit import Cures, Fit
from cropcal.records.plan import BedLight
from cropcal.records.space import Space
from cropcal.season.files import names
from cropcal.show.cure_words import in_words, too_weak

if TYPE_CHECKING:  # numpy, which not every command needs
    from cropcal.planning.growth.pace import Paces


def cured(
    space: Space,
    crop_tables: CropTables,
    lights: tuple[BedLight, ...],
    fits: tuple[Fit, ...],
    paces: "Paces | None" = None,
) -> tuple[tuple[Fit, ...], Cures]:
    """Return the verdicts on all wanted crops with their cures in words, and the cures.

    Parameters
    ----------
    space
        With lamp hours for every zone, its parts in the order of its file.
    lights, fits
        Light of each bed, and verdicts.
    paces
        Growth learned so far.
    """
    from cropcal.planning.cures.search import cures

    mending = cures(space, crop_tables, lights, fits, paces)
    currency = space.tariff.currency if space.tariff else None
    return in_words(fits, mending, names(crop_tables), currency), mending


def with_cures(
    warnings: Sequence[str],
    before: Sequence[Fit],
    after: Sequence[Fit],
    mending: Cures,
    crop_tables: CropTables,
) -> tuple[str, ...]:
    """Return warnings with lamps that are too weak first, and with computed cures in those about verdicts.

    ``before`` and ``after``: the verdicts without and with the words of computed cures.
    """
    from cropcal.planning.growth.cautions import verdict_warnings

    old, new = (verdict_warnings(tuple(fits), crop_tables) for fits in (before, after))
    at = next((number for number, line in enumerate(warnings) if line in old), len(warnings))
    weak = (too_weak(zone, names(crop_tables)) for zone in mending.too_weak)
    rest = (line for line in warnings[at:] if line not in old)
    return (*weak, *warnings[:at], *(new if at < len(warnings) else ()), *rest)

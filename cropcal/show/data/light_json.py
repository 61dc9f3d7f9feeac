"""The light of each bed, how it suits each crop, and how densely each stands, as JSON."""

from collections.abc import Iterable

from cropcal.records.fit import Crowding, Fit, Rise
from cropcal.records.plan import BedLight
from cropcal.show.data.json_forms import Json


def light(
    lights: Iterable[BedLight],
    fits: Iterable[Fit],
    rises: Iterable[Rise] = (),
    crowding: Iterable[Crowding] | None = None,
) -> Json:
    """Return ``beds[]`` with every site's PPFD, ``fits[]``, ``grown[]``: light when planted and grown.

    And ``room[]``: how densely each crop stands, days to its first cut, and the choices where it is crowded.
    """
    room = {} if crowding is None else {"room": [row.model_dump() for row in crowding]}
    return {
        "beds": [_bed(bed) for bed in lights],
        "fits": [fit.model_dump() for fit in fits],
        "grown": [rise.model_dump() for rise in rises],
        **room,
    }


def _bed(bed: BedLight) -> Json:
    sites = bed.site_ppfd_umol_m2_s
    ppfd = {"min": min(sites), "mean": bed.ppfd_umol_m2_s, "max": max(sites)}
    return {
        "bed": bed.bed,
        "zone": bed.zone,
        "source": bed.source,
        "sd_ln": bed.sd_ln,
        "how": bed.how,
        "photoperiod_h": bed.photoperiod_h,
        "ppfd_umol_m2_s": ppfd,
        "range_80_umol_m2_s": list(bed.range_80_umol_m2_s),
        "dli_mol_m2_d": {key: bed.dli_mol_m2_d(value) for key, value in ppfd.items()},
        **(
            {"dli_with_sun_mol_m2_d": list(bed.months_with_sun_mol_m2_d), "sd_ln_sun": bed.sd_ln_sun}
            if bed.halves
            else {}
        ),
        "uniformity_min_over_mean": bed.uniformity_min_over_mean,
        "narrower": [way.model_dump() for way in bed.narrower],
        "check": None if bed.check is None else bed.check.model_dump(),
        "warnings": list(bed.warnings),
        "sites": [{"site": number, "ppfd_umol_m2_s": value} for number, value in enumerate(sites, 1)],
    }

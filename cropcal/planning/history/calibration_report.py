"""The calibration as a report: speeds, days before and now, light, observations."""

import numpy as np

from cropcal.planning.growth.cautions import GRANTED, wanted_crops
from cropcal.planning.growth.crop_constants import home_ln_speed
from cropcal.planning.growth.crop_growth import grow
from cropcal.planning.growth.crop_in_bed import suits_bed
from cropcal.planning.growth.pace import UNLEARNED, Pace
from cropcal.planning.history.calibration import (
    UNNOTED_SD,
    UNWEIGHED_SD,
    Learned,
    batches_and_conditions,
    learn,
    paces,
)
from cropcal.planning.history.diagnosis import diagnoses
from cropcal.planning.site.air import measured_notes
from cropcal.planning.site.growing_conditions import conditions_in
from cropcal.records.crop import Crop, CropTables, cut_at
from cropcal.records.forecast import Range80
from cropcal.records.journal import Entry
from cropcal.records.learned import CropPace, LearnedReport
from cropcal.records.plan import Batch, BedLight
from cropcal.records.space import Assumption, Bed, Space
from cropcal.science import learning
from cropcal.units import Z_80, known_to

HARVESTS = ("weighed", "cut ready")


ASSUMED = (
    Assumption(
        key="a weighed harvest",
        value=f"within {known_to(learning.HARVEST_SD)}, in four cases out of five",
        why="assumed: plants differ",
    ),
    Assumption(
        key="heads nobody weighed",
        value=f"cut at the weight that is wanted, within {known_to(UNWEIGHED_SD)}",
        why="assumed: people cut when it looks right; weighing teaches more",
    ),
    Assumption(
        key="a harvest whose sowing nobody noted",
        value=f"within {known_to(float(np.hypot(learning.HARVEST_SD, UNNOTED_SD)))}",
        why="assumed: it may have been sown or moved days after the plan; note the sowing",
    ),
    Assumption(
        key="coming up",
        value=f"within {known_to(learning.EMERGENCE_NOISE_SD)}",
        why="assumed: looked at daily or so",
    ),
    Assumption(
        key="a light reading of the journal", value="holds for its whole bed, from that day on", why="assumed"
    ),
    GRANTED,
)


def report(
    space: Space,
    tables: CropTables,
    lights: tuple[BedLight, ...],
    events: tuple[Entry, ...],
    batches: tuple[Batch, ...],
) -> LearnedReport:
    """Return what was learned of each wanted or noted crop, in a bed where it stood or may stand."""
    histories, conditions = batches_and_conditions(space, tables, lights, events, batches)
    learned = learn(histories, tables, lights, conditions)
    stood = {history.crop: history.bed for history in histories}
    slugs = dict.fromkeys([*(crop.slug for crop in wanted_crops(space, tables)), *learned.crops])
    known = paces(learned, lights, slugs)
    rows = []
    for slug in slugs:
        crop = cut_at(tables.crops[slug], space.cut_at(slug))
        fitting = [bed for bed in space.beds if suits_bed(crop, bed)]
        bed = next((bed for bed in fitting if bed.name == stood.get(slug)), next(iter(fitting), None))
        if bed is not None and crop.kind != "shoots":
            rows.append(
                _row(space, tables, lights, crop, bed, learned, known.get((slug, bed.name), UNLEARNED))
            )
    light = {}
    for zone in learned.zones if known else ():
        mean, sd = learning.mean_and_sd(learned.belief, learned.reaches("", zone)[2])
        light[zone] = _factor(mean, sd)
    return LearnedReport(
        crops=tuple(rows),
        light=light,
        lessons=learned.lessons,
        points=diagnoses(space, tables, lights, learned, histories, conditions),
        assumptions=(*ASSUMED, *measured_notes(space)),
    )


def _row(
    space: Space,
    tables: CropTables,
    lights: tuple[BedLight, ...],
    crop: Crop,
    bed: Bed,
    learned: Learned,
    pace: Pace,
) -> CropPace:
    home = home_ln_speed(crop)
    return CropPace(
        slug=crop.slug,
        bed=bed.name,
        speed=_factor(home + pace.ln_speed, pace.sd_ln_speed),
        sd=pace.sd_ln_speed,
        harvests=sum(
            lesson.used and lesson.crop == crop.slug and lesson.kind in HARVESTS for lesson in learned.lessons
        ),
        emergence=_factor(pace.ln_emergence, pace.sd_ln_emergence),
        days_before=_days(space, tables, lights, crop, bed, UNLEARNED),
        days_now=_days(space, tables, lights, crop, bed, pace),
    )


def _factor(mean: float, sd: float) -> Range80:
    low, middle, high = (float(np.exp(mean + sd * z)) for z in (-Z_80, 0.0, Z_80))
    return Range80(low=low, middle=middle, high=high)


def _days(
    space: Space, tables: CropTables, lights: tuple[BedLight, ...], crop: Crop, bed: Bed, pace: Pace
) -> Range80 | None:
    """Return the days from sowing to the first cut, by way of a nursery if needed and there is one."""
    by_bed = {light.bed: light for light in lights}
    nursery = next(
        (bed_of_zone for bed_of_zone in space.beds if bed_of_zone.kind == "nursery" and crop.nursery_d > 0),
        None,
    )
    nursery_conditions = conditions_in(nursery, space, by_bed[nursery.name]) if nursery else None
    grown = grow(crop, tables, conditions_in(bed, space, by_bed[bed.name]), nursery_conditions, pace)
    if grown is None:
        return None
    low, middle, high = (float(day) for day in grown.ready_d[:, 0])
    return Range80(low=low, middle=middle, high=high)

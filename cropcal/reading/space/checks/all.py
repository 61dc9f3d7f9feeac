"""Whether the tables of a space file are consistent: a list of small checks with one signature.

To add a check, write a function from a draft to its problems and add its name to ``CHECKS``.
"""

from collections.abc import Callable, Iterator
from datetime import date
from typing import Any, Final

from cropcal.problems import Problem
from cropcal.reading.space.checks import (
    beds as check_beds,
)
from cropcal.reading.space.checks import (
    crowding as check_crowding,
)
from cropcal.reading.space.checks import (
    efficacy as check_efficacy,
)
from cropcal.reading.space.checks import (
    hours as check_hours,
)
from cropcal.reading.space.checks import (
    lamps as check_lamps,
)
from cropcal.reading.space.checks import (
    plan as check_plan,
)
from cropcal.reading.space.checks import (
    readings as check_readings,
)
from cropcal.reading.space.checks import (
    tariff as check_tariff,
)
from cropcal.reading.space.checks import (
    wants as check_wants,
)
from cropcal.reading.space.checks.beds import (
    growing_has_one_age,
    growing_in_fitting_beds,
    known_crops_growing,
    room_for_growing,
)
from cropcal.reading.space.checks.climate import (
    a_clock_for_the_sun,
    a_sun_for_the_window,
    one_air,
    place_near_its_clock,
    pot_beside_tank,
    pots_that_count,
    room_beside_fan,
    whole_position,
)
from cropcal.reading.space.draft import Draft, Part, readable_parts
from cropcal.reading.text.suggestions import did_you_mean
from cropcal.reading.text.timezones import is_timezone, timezone_hint
from cropcal.reading.text.toml_locations import KeyPath

Check = Callable[[Draft], Iterator[Problem]]

NEEDED: Final = {
    "zone": "at least one [[zone]]: the lit floor with its length_m and width_m",
    "bed": "at least one [[bed]] to grow in",
    "want": "at least one [[want]] with the crops wanted",
}
MAY_BE_EMPTY: Final = (
    "breaks",
    "quiet",
    "out_of_use",
    "holidays",
    *NEEDED,
    "fixture",
    "reading",
    "load",
    "chore",
    "growing",
    "seed",
    "rate",
)
CHECKED_ELSEWHERE: Final = ("wall_reflectance", "daylight_share", "outdoor_kwh_m2_d")
EACH_ONCE: Final = ("work_days", "harvest_days", "days", "months", "crops", "beds", "zones", "holidays", "on")


def needed_tables(draft: Draft) -> Iterator[Problem]:
    """Ask for a zone, a bed and a want."""
    for name, expected in NEEDED.items():
        if not draft.source.get((name,)) and name not in draft.unsure:
            yield draft.source.problem((name,), expected, found="none")


def own_names(draft: Draft) -> Iterator[Problem]:
    """Ask that no two zones, beds, loads, chores or rates share a name."""
    named: list[tuple[Part[Any], ...]] = [draft.zones, draft.beds, draft.loads, draft.chores, draft.rates]
    for parts in named:
        first: dict[str, KeyPath] = {}
        for part in readable_parts(parts, "name"):
            if "name" not in part.record.model_fields_set:
                continue
            name: str = part.record.name
            if name not in first:
                first[name] = part.path
                continue
            line = draft.source.line((*first[name], "name"))
            yield draft.source.problem(
                (*part.path, "name"), "a unique name", f"line {line} has the same", found=f'"{name}"'
            )


def known_zones(draft: Draft) -> Iterator[Problem]:
    """Ask that beds, fixtures and the loads of one zone are in zones that exist."""
    housed: list[tuple[Part[Any], ...]] = [draft.beds, draft.fixtures, draft.loads]
    for parts in housed:
        for part in readable_parts(parts, "zone"):
            if part.record.zone is not None:
                yield from _known(draft, (*part.path, "zone"), part.record.zone, draft.zone_names, "zone")


def known_beds(draft: Draft) -> Iterator[Problem]:
    """Ask that readings and growing plants are in beds that exist."""
    of_beds: list[tuple[Part[Any], ...]] = [draft.readings, draft.growing]
    for part in (part for parts in of_beds for part in readable_parts(parts, "bed")):
        yield from _known(draft, (*part.path, "bed"), part.record.bed, draft.bed_names, "bed")


def known_places_of_wants(draft: Draft) -> Iterator[Problem]:
    """Ask that wants are kept to beds and zones that exist."""
    for part in readable_parts(draft.wants, "beds"):
        for place, name in enumerate(part.record.beds or ()):
            yield from _known(draft, (*part.path, "beds", place), name, draft.bed_names, "bed")
    for part in readable_parts(draft.wants, "zones"):
        for place, name in enumerate(part.record.zones or ()):
            yield from _known(draft, (*part.path, "zones", place), name, draft.zone_names, "zone")


def known_lamps(draft: Draft) -> Iterator[Problem]:
    """Ask that fixtures have lamps of a listed kind."""
    lamps = list(draft.tables.lamps)
    for part in readable_parts(draft.fixtures, "lamp"):
        if part.record.lamp not in lamps:
            hint = did_you_mean(part.record.lamp, lamps)
            yield draft.source.problem((*part.path, "lamp"), "a lamp in the table", hint)


def known_timezone(draft: Draft) -> Iterator[Problem]:
    """Ask that the place's timezone is one of the world's."""
    zone = draft.place.record.timezone
    if "timezone" not in draft.place.bad and zone is not None and not is_timezone(zone):
        path = ("place", "timezone")
        yield draft.source.problem(path, 'a timezone like "Europe/London"', timezone_hint(zone))


def _known(draft: Draft, path: KeyPath, name: str, names: list[str] | None, what: str) -> Iterator[Problem]:
    if names is not None and name not in names:
        yield draft.source.problem(path, f"the name of a {what}", did_you_mean(name, names))


def lists_that_say_something(draft: Draft) -> Iterator[Problem]:
    """Ask that a list is not empty and names nothing twice."""
    for path in draft.source.spots:
        value: Any = draft.source.get(path)
        key = path[-1]
        if not isinstance(value, list) or not isinstance(key, str):
            continue
        if not value and key not in (*MAY_BE_EMPTY, *CHECKED_ELSEWHERE) and len(path) > 1:
            yield draft.source.problem(path, "something in the list, or the key left out")
        if key in EACH_ONCE:
            for place, item in enumerate(value):
                if isinstance(item, str | int | date) and item in value[:place]:
                    yield draft.source.problem((*path, place), "each of them only once")


CHECKS: Final[tuple[Check, ...]] = (
    needed_tables,
    own_names,
    known_zones,
    known_beds,
    known_places_of_wants,
    known_lamps,
    known_timezone,
    lists_that_say_something,
    whole_position,
    a_clock_for_the_sun,
    a_sun_for_the_window,
    place_near_its_clock,
    check_beds.sizes_are_real,
    check_beds.sites_agree,
    check_crowding.not_too_many_sites,
    check_crowding.room_for_each_site,
    check_beds.whole_position,
    check_beds.inside_the_zone,
    check_beds.beds_do_not_overlap,
    check_beds.room_on_the_floor,
    check_beds.light_is_known,
    check_readings.one_kind_of_light,
    check_readings.read_with_a_par_meter,
    check_readings.readings_in_rows,
    check_readings.lux_not_kilolux,
    check_readings.one_reading_a_bed,
    check_readings.lux_under_a_known_lamp,
    check_efficacy.light_for_its_watts,
    check_lamps.whole_panel,
    check_lamps.panel_over_the_floor,
    check_lamps.dims_below_its_output,
    check_lamps.standby_below_watts,
    check_lamps.photons_for_its_watts,
    check_hours.one_day_length,
    one_air,
    room_beside_fan,
    pots_that_count,
    check_hours.stretches_do_not_overlap,
    check_hours.some_time_not_quiet,
    check_hours.one_way_to_run,
    check_tariff.one_base_rate,
    check_tariff.rates_do_not_overlap,
    check_tariff.one_price,
    check_tariff.blocks_in_order,
    check_tariff.blocks_all_day,
    check_plan.start_in_reach,
    check_plan.breaks_in_order,
    check_plan.some_work_day,
    check_plan.one_way_to_sow,
    check_beds.known_crops_of_beds,
    check_beds.out_of_use_in_order,
    check_beds.sites_out_of_use,
    check_wants.known_crops,
    check_wants.one_unit,
    check_wants.bowls_of_some_weight,
    check_wants.young_plants_of_crops,
    check_wants.weights_of_crops,
    check_wants.variety_of_crops,
    check_wants.a_bed_for_each_crop,
    check_wants.within_the_plan,
    check_wants.one_way_to_want,
    check_wants.days_apart_within_the_plan,
    known_crops_growing,
    growing_in_fitting_beds,
    room_for_growing,
    growing_has_one_age,
    check_wants.known_crops_of_seed,
    check_wants.one_amount_of_seed,
    check_wants.packed_and_counted,
)


def check(draft: Draft) -> list[Problem]:
    """Return every inconsistency between and within the tables."""
    return [problem for rule in CHECKS for problem in rule(draft)]


DOUBTS: Final[tuple[Callable[[Draft], Iterator[Problem]], ...]] = (
    check_crowding.many_sites,
    check_crowding.close_sites,
    check_efficacy.much_light_for_its_watts,
    check_tariff.price_in_cents,
    pot_beside_tank,
    check_wants.unusual_weights,
    check_wants.a_helping,
)


def doubts(draft: Draft) -> list[Problem]:
    """Return a question about each doubtful value of a draft without problems."""
    return [problem for rule in DOUBTS for problem in rule(draft)]

"""What an hour of light is worth: doubled lamps never give less, and no hour is refused without a reason."""

from datetime import date

import numpy as np
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.planning.photoperiod.fill_hours import zone_case
from cropcal.planning.photoperiod.settings import SLOWEST, allowed_timers, suiting_best
from cropcal.planning.power.quarter_hour_prices import quarter_prices
from cropcal.planning.site.bed_light import bed_lights
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.read import read_space_text
from cropcal.science.growth import H

RACK = """
[place]
timezone = "UTC"

[[zone]]
name = "rack"
length_m = 1.0
width_m = 0.5
air_c = {air}
air_moving = {fan}
{quiet}

[[bed]]
name = "box"
zone = "rack"
sites = 8
length_m = 0.5
width_m = 0.5

[[bed]]
name = "tray"
zone = "rack"
kind = "tray"
sites = 2
length_m = 0.5
width_m = 0.5

[[fixture]]
zone = "rack"
watts = 2900
{dims}

[[reading]]
bed = "box"
umol_m2_s = [[{ppfd}, {far_end}]]

[[reading]]
bed = "tray"
umol_m2_s = [[{ppfd}]]

[tariff]
currency = "EUR"
[[tariff.rate]]
per_kwh = 0.3
{rates}

[plan]
start = 2027-01-04
weeks = 26
{wants}
"""
NIGHT = '[[tariff.rate]]\nname = "night"\nper_kwh = 0.1\nhours = [["23:00", "07:00"]]\n'
QUIET = 'quiet = [{ hours = [["22:00", "07:00"]] }]'
TABLES = read_crop_tables(None)[0]
CROPS = ["lettuce-butterhead", "spinach-baby", "basil", "kale", "tatsoi", "cilantro", "microgreens-brassica"]
RACKS = st.fixed_dictionaries(
    {
        "crops": st.lists(st.sampled_from(CROPS), min_size=1, max_size=3, unique=True),
        "ppfd": st.floats(3.5, 6.8).map(lambda value: round(float(np.exp(value)))),
        "uneven": st.sampled_from([1.0, 0.9, 0.6]),
        "air": st.sampled_from([17, 20, 23]),
        "fan": st.sampled_from(["true", "false"]),
        "quiet": st.sampled_from(["", QUIET]),
        "rates": st.sampled_from(["", NIGHT]),
        "dims": st.sampled_from(["", "dims_to = 0.5"]),
    }
)


def case_of(rack, times=1.0):
    """Return the case of a random rack, its light times a factor; air and clearance are as they were."""
    ppfd = rack["ppfd"] * times
    wants = "".join(f'[[want]]\ncrops = ["{crop}"]\n' for crop in rack["crops"])
    text = RACK.format(**rack | {"ppfd": ppfd, "far_end": ppfd * rack["uneven"], "wants": wants})
    space, problems = read_space_text(text, TABLES, today=date(2027, 1, 4))
    assert problems == []
    return zone_case(space, TABLES, bed_lights(space, TABLES), space.zones[0], quarter_prices(space))


def harm_at(case, place):
    """Return the counts of crops forbidden, at risk, and of unknown day limit."""
    return tuple(int(counts[place]) for counts in case.judged.harm)


@given(rack=RACKS)
@settings(max_examples=examples(60, 4))
def test_a_lamp_twice_as_bright_never_gives_less(rack):
    """Neither more harm, nor more days: the pick takes 1.25 times the fewest of the single lamp at most.

    Of the doubled lamp, half of the hours bring the same light. Only where it is far too bright for all the
    hours of the single lamp, days rise by what so short a day takes of growth at equal light, 2**H (Palmer &
    van Iersel 2020); the hundredth is for quarters of an hour.
    """
    one, two = case_of(rack), case_of(rack, 2.0)
    assert harm_at(two, two.place) <= harm_at(one, one.place)
    assert two.judged.slowness[two.place] <= max(SLOWEST, one.judged.slowness[one.place]) + 1e-6
    patience = max(SLOWEST, one.judged.slowness[one.place]) * 2**H * 1.01
    for crop, (before, after) in enumerate(zip(one.judged.fewest_days, two.judged.fewest_days, strict=True)):
        if np.isnan(before):
            continue
        assert after <= before * 2**H * 1.01
        assert two.judged.days[crop][two.place] <= patience * before
        at = suiting_best(one.judged, allowed_timers(one.on))
        quickest = np.nanargmin(one.judged.days[crop][at])
        same = at[0][quickest], at[1][quickest]
        if harm_at(two, same) <= harm_at(two, two.place) and rack["quiet"] == "":
            assert after <= before + 1e-6


@given(rack=RACKS)
@settings(max_examples=examples(40, 3))
def test_an_hour_is_refused_only_for_harm_or_for_its_power(rack):
    """Of every longer timer: it harms a crop, breaks the quiet, or brings nothing that is worth its power.

    An hour is worth its power as long as a crop takes more than 1.25 times its fewest days, or lacks light
    (``SLOWEST``).
    """
    case = case_of(rack)
    judged, on, (output, timer) = case.judged, case.on, case.place
    longer = allowed_timers(on) & (on.lit_h > on.lit_h[timer]) & (on.quiet_min <= on.quiet_min[timer])
    for counts in (*judged.harm, judged.burnt):
        longer &= counts[output] <= counts[output, timer]
    if not longer.any():
        return
    slow_enough = max(judged.slowness[case.place], SLOWEST)
    assert np.maximum(judged.slowness[output][longer], SLOWEST).min() >= slow_enough * (1 - 1e-6)
    assert judged.lacking[output][longer].min() >= judged.lacking[case.place] - 1e-6
    dearer = on.money[longer] >= on.money[timer] * (1 - 1e-6)
    assert dearer.all()

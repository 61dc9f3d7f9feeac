"""Which hours: cases worked by hand, the whole grid against rules written anew, the plan that uses them."""

from itertools import pairwise

import numpy as np
import pytest
from depth import examples, few_of

from cropcal.planning.candidates.assessment import assess, unit_costs
from cropcal.planning.growth.crop_growth import grow
from cropcal.planning.growth.growth_by_setting import constant_setting, growth_by_setting
from cropcal.planning.growth.pace import UNLEARNED, Pace
from cropcal.planning.photoperiod import settings as choosing
from cropcal.planning.photoperiod.advice import advice
from cropcal.planning.photoperiod.fill_hours import with_hours, zone_case
from cropcal.planning.photoperiod.requirements import requirements
from cropcal.planning.photoperiod.settings import (
    QuarterHourAir,
    allowed_timers,
    best_setting,
    grid,
    judge,
)
from cropcal.planning.power.bill import bill
from cropcal.planning.power.quarter_hour_prices import quarter_prices
from cropcal.planning.site.bed_light import bed_lights
from cropcal.planning.site.growing_conditions import conditions_in

SHELF = """
[place]
timezone = "UTC"

[[zone]]
name = "shelf"
length_m = 1.0
width_m = 0.5
{air}
air_moving = true
{zone}

[[bed]]
name = "box"
zone = "shelf"
sites = 10
length_m = 0.5
width_m = 0.5

[[bed]]
name = "tray"
zone = "shelf"
kind = "tray"
sites = 2
length_m = 0.5
width_m = 0.5

[[fixture]]
zone = "shelf"
watts = 100
watts_from = "meter"
{fixture}

[[reading]]
bed = "box"
umol_m2_s = [[{ppfd}]]

[[reading]]
bed = "tray"
umol_m2_s = [[{ppfd}]]

[tariff]
currency = "EUR"
[[tariff.rate]]
per_kwh = 0.3
{rate}

[plan]
start = 2027-01-04
weeks = 26
{wants}
"""
WANT = """
[[want]]
crops = ["{}"]
"""
NIGHT = """
[[tariff.rate]]
name = "night"
per_kwh = 0.1
hours = [["23:00", "07:00"]]
"""
MONTH_D = 365.25 / 12


def a_shelf(crops, ppfd, zone="", rate="", fixture=""):
    """Return the text of a shelf with a want for each crop."""
    wants = "".join(map(WANT.format, crops))
    air = "" if "room_c" in zone else "air_c = 20"
    return SHELF.format(wants=wants, ppfd=ppfd, air=air, zone=zone, rate=rate, fixture=fixture)


@pytest.fixture(scope="session")
def asked(read_text, tables):
    """Return a function from a shelf to the advice on its one zone."""

    def ask(crops, ppfd, zone="", rate="", fixture=""):
        text = a_shelf(crops, ppfd, zone=zone, rate=rate, fixture=fixture)
        return advice(read_text(text), tables).zones[0]

    return ask


def spelt(choice):
    return ["-".join(f"{minute // 60:02d}:{minute % 60:02d}" for minute in stretch) for stretch in choice.lit]


def test_two_crops_with_overlapping_windows(asked):
    """Spinach 12-13 h, microgreens from 10.25 h at 230 umol (0.828 mol an hour): 12 h suit both.

    Spinach grows well from 0.7 x 14 = 9.8 mol: 11.84 h, so 12 h; its limit is 13 h (Chun 2001).
    Microgreens from 0.7 x 12 = 8.4 mol: 10.14 h. One price: 12 h round 14:00. 100 W x 12 h = 1.2 kWh a day.
    """
    found = asked(["spinach-baby", "microgreens-brassica"], 230)
    assert found.suits_all
    assert (found.pick.photoperiod_h, spelt(found.pick)) == (12.0, ["08:00-20:00"])
    assert found.pick.kwh_per_month == pytest.approx(1.2 * MONTH_D)
    assert found.pick.cost_per_month == pytest.approx(0.36 * MONTH_D)
    assert found.pick.dli_mol_m2_d == pytest.approx(230 * 12 * 0.0036)
    spinach, greens = ({(span.from_h, span.to_h, span.suit) for span in crop.spans} for crop in found.crops)
    assert (12.0, 13.0, "right") in spinach
    assert (13.25, 24.0, "bolt") in spinach
    assert (10.25, 16.0, "right") in greens
    assert "Baby spinach grows well from 12 h of this light" in found.why
    assert found.cures == ()
    assert found.pays == ()


def test_two_crops_without_a_common_window(asked):
    """Lettuce wants 14.75 h at 200 umol (10.5 / 0.72 = 14.58), spinach at most 13: neither is lost at 13 h.

    Both are then slow (9.36 mol; spinach would do well from 9.8), and lettuce pays in days.
    """
    found = asked(["spinach-baby", "lettuce-looseleaf"], 200)
    assert not found.suits_all
    assert found.pick.photoperiod_h == 13.0
    assert found.pick.suits == {"spinach-baby": "slow", "lettuce-looseleaf": "slow"}
    assert any("Baby spinach on a shelf and timer of its own" in cure for cure in found.cures)
    assert any("14.75 h then suit all the rest" in cure for cure in found.cures)
    assert any(said.startswith("Loose-leaf lettuce: ") and "at 14.75 h" in said for said in found.pays)


def test_spinach_beside_lettuce_as_chun_found_it(asked):
    """16 h bolt over 85 % of spinach, 10 h none (Chun 2001, HortScience 36:889); lettuce is not affected."""
    found = asked(["spinach-baby", "lettuce-looseleaf"], 260)
    by_hours = {choice.photoperiod_h: choice for choice in found.choices}
    assert by_hours[16.0].suits == {"spinach-baby": "bolt", "lettuce-looseleaf": "right"}  # 14.98 mol
    assert any("Baby spinach: bolts" in said for said in by_hours[16.0].problems)
    assert by_hours[10.0].suits["spinach-baby"] == "slow"  # 9.36 mol: the light, not the day


def test_cheap_night_is_all_that_is_lit(asked):
    """Pea shoots at 300 umol need 8.4 / 1.08 = 7.78 h: 8 h, all of them the eight cheap ones."""
    found = asked(["pea-shoots"], 300, rate=NIGHT)
    assert (found.pick.photoperiod_h, spelt(found.pick)) == (8.0, ["23:00-07:00"])
    assert found.pick.cost_per_month == pytest.approx(0.8 * 0.1 * MONTH_D)


def test_quiet_hours_force_two_stretches(asked):
    """Quiet 22:00-07:00 and 13:00-14:30 leave 6 + 7.5 h; at 173.5 umol microgreens need all 13.5 h.

    8.4 / (173.5 x 0.0036) = 13.449 h. The longest dark is the night, 9 h: the plant sees a day of 15 h.
    """
    quiet = 'quiet = [{ hours = [["22:00", "07:00"], ["13:00", "14:30"]] }]'
    found = asked(["microgreens-brassica"], 173.5, zone=quiet)
    assert spelt(found.pick) == ["07:00-13:00", "14:30-22:00"]
    assert (found.pick.photoperiod_h, found.pick.day_seen_h) == (13.5, 15.0)
    assert found.pick.quiet_h_per_week == 0
    assert found.suits_all


def test_two_stretches_are_a_long_day_for_spinach(asked):
    """The same quiet hours: 11 h in two stretches round noon would be 12.5 h of day or more, never 11."""
    quiet = 'quiet = [{ hours = [["22:00", "07:00"], ["13:00", "14:30"]] }]'
    split = [c for c in asked(["spinach-baby"], 260, zone=quiet).choices if len(c.lit) == 2]
    assert split
    for choice in split:
        assert choice.day_seen_h >= choice.photoperiod_h + 1.5
        assert (choice.suits["spinach-baby"] == "bolt") == (choice.day_seen_h > 13)


def test_light_comes_in_one_stretch_where_that_keeps_the_quiet(asked):
    """A cheap night and a cheap noon do not split the light; only quiet hours do."""
    noon = '\n[[tariff.rate]]\nname = "noon"\nper_kwh = 0.05\nhours = [["12:00", "15:00"]]\n'
    found = asked(["microgreens-brassica"], 300, rate=NIGHT + noon)
    assert all(len(choice.lit) == 1 for choice in found.choices)


def test_heat_forbids_noon(read_text, tables):
    """A glass room of 27 C from 11 to 17 and 16 C else, the lamp adds 8: 35 C at noon stops microgreens (34).

    12 h are needed (200 umol: 11.67). Free of 11-17 they start between 17:00 and 23:00; the middles of these
    two are equally far from 14:00, so the earlier wins.
    """
    space = read_text(a_shelf(["microgreens-brassica"], 200))
    zone = space.zones[0]
    wanted = requirements(space, tables, bed_lights(space, tables), zone)
    off = np.where((np.arange(96) >= 44) & (np.arange(96) < 68), 27.0, 16.0)
    on = grid(zone, np.ones(1), quarter_prices(space)[True], QuarterHourAir(off + 8, off))
    judged = judge(wanted, on)
    _, timer = best_setting(judged, allowed_timers(on) & (on.lit_h == 12))
    assert on.timers.stretches_min(timer) == ((17 * 60, 5 * 60),)
    cool = judge(wanted, grid(zone, np.ones(1), quarter_prices(space)[True], QuarterHourAir(off + 6, off)))
    _, timer = best_setting(cool, allowed_timers(cool.on) & (cool.on.lit_h == 12))
    assert cool.on.timers.stretches_min(timer) == ((8 * 60, 20 * 60),)


def test_a_lamp_that_dims_is_turned_down_where_it_is_too_bright(asked):
    """500 umol scorch lettuce leaves from 9.5 h on; at 0.4 of it 200 umol give 11.5 mol in 16 h.

    Light x hours is what counts, and power goes with light: of equal cost the longest day is taken. From
    14.75 h x 0.4 = 5.9 of full on it is enough light, but there harvest takes more than 1.25 times the fewest
    days, which 20 mol in 16 h bring: 40 d, whatever becomes of leaf tips. 16 h x 0.4 = 6.4 takes 50 d.
    """
    found = asked(["lettuce-looseleaf"], 500, fixture="dims_to = 0.4")
    used = found.pick.photoperiod_h * found.pick.output
    assert found.suits_all
    assert used == pytest.approx(6.4)
    assert (found.pick.output, found.pick.photoperiod_h) == (0.4, 16.0)
    assert found.pick.kwh_per_month == pytest.approx(0.64 * MONTH_D)
    assert found.pick.harvest_days["lettuce-looseleaf"] == pytest.approx(50.25, abs=0.1)


def test_an_unknown_limit_is_never_taken_for_none(asked):
    """Lettuce at 150 umol is slow at 16 h (8.64 mol); 20 h would bring 10.8, no source says if it harms."""
    found = asked(["lettuce-looseleaf"], 150)
    assert found.pick.photoperiod_h == 16.0
    assert found.pick.suits == {"lettuce-looseleaf": "slow"}
    by_hours = {choice.photoperiod_h: choice for choice in found.choices}
    assert by_hours[20.0].suits == {"lettuce-looseleaf": "unknown"}
    assert found.crops[0].longest_h is None


def test_of_hours_nobody_uses_none_is_picked(asked):
    """No day over 20 h is offered, however dim the lamp."""
    assert asked(["microgreens-brassica"], 60).pick.photoperiod_h <= 20.0


def test_nothing_wanted_gets_the_usual_hours(read_text, tables):
    """A shelf on which no want may stand is lit 16 h, at night as far as that is cheap."""
    text = a_shelf(["lettuce-looseleaf"], 200, rate=NIGHT) + 'beds = ["box"]\n'
    spare = '\n[[zone]]\nname = "spare"\nlength_m = 1\nwidth_m = 1\n[[fixture]]\nzone = "spare"\nwatts = 9\n'
    bed = '[[bed]]\nname = "spare tray"\nzone = "spare"\nkind = "tray"\n'
    pick = advice(read_text(text + spare + bed), tables).zones[1].pick
    assert spelt(pick) == ["23:00-15:00"]


def test_a_crop_that_does_well_in_another_zone_is_sent_there(read_text, tables):
    """Spinach is slow beside lettuce; a second shelf that lettuce may not use is all its own."""
    text = a_shelf(["spinach-baby", "lettuce-looseleaf"], 200)
    other = """
[[zone]]
name = "cellar"
length_m = 1
width_m = 1
air_c = 18
[[bed]]
name = "cellar tray"
zone = "cellar"
kind = "tray"
[[reading]]
bed = "cellar tray"
umol_m2_s = [[240]]
"""
    shelf, cellar = advice(read_text(text + other), tables).zones
    assert cellar.pick.suits == {"spinach-baby": "right"}
    assert cellar.pick.photoperiod_h == 11.5  # 9.8 / 0.864 = 11.34
    assert shelf.cures[0] == "Baby spinach does well in cellar at 11.5 h: grow it there"


def test_the_odds_follow_from_how_the_light_is_known(asked):
    """A PAR meter (5 %): at 10.62 mol lettuce has enough (6.5) and not too much (17) for certain."""
    crop = asked(["lettuce-looseleaf"], 200).crops[0]
    assert crop.chance == pytest.approx(1.0, abs=1e-6)


def seasonal(summer_price):
    """Return a night rate in winter and a noon rate in summer."""
    months = (
        ("night", [1, 2, 3], "00:00", "08:00", 0.1),
        ("noon", [4, 5, 6, 7], "08:00", "16:00", summer_price),
    )
    return "".join(
        f'[[tariff.rate]]\nname = "{name}"\nper_kwh = {price}\nmonths = {some}\nhours = [["{a}", "{b}"]]\n'
        for name, some, a, b, price in months
    )


def test_a_timer_is_set_anew_only_when_that_pays(read_text, tables):
    """8 h a day: 87 winter days and 95 summer days; at night 0.1 in winter, at noon 0.12 in summer, else 0.3.

    One setting costs least at night: 87 x 0.1 + 95 x 0.3 = 37.2 (noon: 37.5); two cost 8.7 + 11.4 = 20.1.
    With 0.3 at noon too, nights do as well all the year, and nothing is changed.
    """
    made = advice(read_text(a_shelf(["pea-shoots"], 300, rate=seasonal(0.12))), tables)
    assert [(line.start.isoformat(), line.on, line.off) for line in made.timers] == [
        ("2027-01-04", 0, 8 * 60),
        ("2027-04-01", 8 * 60, 16 * 60),
    ]
    assert made.zones[0].season_saves == pytest.approx(1 - 20.1 / 37.2)
    made = advice(read_text(a_shelf(["pea-shoots"], 300, rate=seasonal(0.3))), tables)
    assert len(made.timers) == 1
    assert made.zones[0].season_saves == 0


# --- days, amounts and costs against what other commands say -----------------------------------------------


@pytest.mark.parametrize("standby_w", [0, 4])
def test_the_curve_and_the_other_commands_agree(standby_w, read_text, tables):
    """At the file's own hours: kWh as billed, days as grown, cost per head as the bill says."""
    lit, standby = 'lit = [["18:00", "10:00"]]', f"standby_watts = {standby_w}"
    text = a_shelf(["lettuce-looseleaf"], 200, zone=lit, rate=NIGHT, fixture=standby)
    text += '\n[[load]]\nname = "pump"\nwatts = 10\nalways = true\n'
    space = read_text(text)
    now = advice(space, tables).zones[0].now
    lamps = [line for line in bill(space, space.settings.start, 182) if line.what == "lamps"]
    assert now.kwh_per_month == pytest.approx(sum(line.kwh for line in lamps) / 182 * MONTH_D)
    assert now.cost_per_month == pytest.approx(sum(line.cost for line in lamps) / 182 * MONTH_D)
    cost = next(one for one in unit_costs(assess(space, tables), priced=True) if one.bed == "box")
    assert now.cost_per_unit["lettuce-looseleaf"] == pytest.approx(cost.cost_per_unit)
    assert now.kwh_per_unit["lettuce-looseleaf"] == pytest.approx(cost.kwh_per_unit)
    days = now.harvest_days["lettuce-looseleaf"]
    assert now.per_week["lettuce-looseleaf"] == pytest.approx(
        7 * 10 / (days + 1)
    )  # ten sites, a day to clean


@pytest.mark.parametrize("slug", ["lettuce-looseleaf", "basil", "spinach-baby", "pea-shoots"])
@pytest.mark.parametrize("cradled", [True, False])
@pytest.mark.parametrize("pace", [UNLEARNED, Pace(ln_speed=-0.2, ln_emergence=0.3, ln_light=-0.1)])
def test_days_and_amounts_for_many_hours_are_those_for_each(slug, cradled, pace, read_text, tables):
    """What is computed for all hours at once is what ``when`` and ``plan`` compute for one, learned too."""
    text = a_shelf([slug], 200, zone='lit = [["18:00", "10:00"]]')
    space = read_text(text)
    crop = tables.crops[slug]
    bed = space.beds[1 if crop.kind in ("tray", "shoots") else 0]
    place = conditions_in(bed, space, {light.bed: light for light in bed_lights(space, tables)}[bed.name])
    cradle = place if cradled and crop.nursery_d else None
    one = grow(crop, tables, place, cradle, pace)
    raised = (cradle, constant_setting(cradle, 3)) if cradle else None
    many = growth_by_setting(crop, tables, place, constant_setting(place, 3), raised, pace)
    assert many.ready_d == pytest.approx(3 * [one.ready_d[1, 0]])
    assert many.amount == pytest.approx(3 * [one.amount[0, int(np.ceil(one.ready_d[1, 0]))]])


def test_a_crop_that_is_ready_in_time_at_no_hours_is_not_told(asked):
    """Chives at 1 umol are never ready: no days, no amount, and no hours suit them for want of light."""
    found = asked(["chives"], 1)
    assert all(choice.harvest_days == choice.per_week == {} for choice in found.choices)
    assert "the light is too weak for it" in found.why


def test_a_lamp_that_cannot_be_turned_down_is_named_where_another_can(read_text, tables):
    """All lamps of a zone share one knob: with one that has no dims_to none is dimmed, and that is said."""
    second = 'dims_to = 0.3\n[[fixture]]\nzone = "shelf"\nwatts = 20'
    found = advice(read_text(a_shelf(["lettuce-looseleaf"], 500, fixture=second)), tables)
    assert {choice.output for choice in found.zones[0].choices} == {1.0}
    keys = [item.key for item in found.assumptions]
    assert "dimming in shelf" in keys
    assert "dimming" not in keys


def test_no_crop_is_judged_anew_for_each_of_the_others(read_text, tables, monkeypatch):
    """Cures come from codes already computed: work grows with the crops, not with their square."""
    judged = []
    real = choosing.suit_codes
    monkeypatch.setattr(choosing, "suit_codes", lambda need, on: (judged.append(on), real(need, on))[1])
    counts = []
    for crops in (["spinach-baby", "basil"], ["spinach-baby", "basil", "dill", "mint"]):
        judged.clear()
        advice(read_text(a_shelf(crops, 120)), tables)
        counts.append(len(judged))
    assert counts[1] == 2 * counts[0]


def test_heat_is_not_called_want_of_light(asked):
    """100 W in a box that loses 4 W for each degree warm it by 25 K to 45 C: too hot, however bright."""
    found = asked(["lettuce-batavia"], 500, zone="room_c = 20\nloss_w_per_k = 4")
    assert not found.suits_all
    assert "the air is not right for it" in found.why
    assert "too weak" not in found.why


def test_more_hours_at_equal_output_never_cost_less(asked):
    """Whatever the rates: the best start of a longer day is at least as dear."""
    costs = [choice.cost_per_month for choice in asked(["microgreens-brassica"], 100, rate=NIGHT).choices]
    assert all(later >= sooner - 1e-9 for sooner, later in pairwise(costs))


# --- two hundred random spaces against rules and prices written anew ---------------------------------------

CROPS = ["spinach-baby", "microgreens-brassica", "lettuce-looseleaf", "lettuce-butterhead", "basil", "radish"]


def random_shelf(rng):
    """Return the parts of a random shelf: crops, light, quiet hours, rates, lamp."""
    crops = [str(crop) for crop in rng.choice(CROPS, rng.integers(1, 4), replace=False)]
    at, long = int(rng.integers(0, 96)), int(rng.integers(4, 48))
    quiet = (15 * at, 15 * (at + long) % 1440) if rng.random() < 0.6 else None
    rates = []
    for name in ("low", "high")[: rng.integers(0, 3)]:
        first = int(rng.integers(0, 1440))
        rates.append(
            (
                name,
                float(rng.choice([0.05, 0.1, 0.2, 0.5])),
                first,
                (first + int(rng.integers(30, 660))) % 1440,
            )
        )
    if len(rates) == 2:
        rates[0], rates[1] = ("low", rates[0][1], 0, 400), ("high", rates[1][1], 700, 1001)
    return {
        "crops": crops,
        "ppfd": float(np.round(rng.uniform(60, 450), 1)),
        "quiet": quiet,
        "rates": rates,
        "dims_to": float(rng.choice([0.3, 0.55, 1.0])),
        "air": float(rng.choice([18.0, 23.0, 25.0])),
        "fan": bool(rng.random() < 0.5),
    }


def clock(minute):
    return f"{minute // 60:02d}:{minute % 60:02d}"


def as_text(shelf):
    zone = ""
    if shelf["quiet"]:
        first, last = (clock(minute) for minute in shelf["quiet"])
        zone = f'quiet = [{{ hours = [["{first}", "{last}"]] }}]'
    rate = "".join(
        f'\n[[tariff.rate]]\nname = "{name}"\nper_kwh = {price}\nhours = [["{clock(a)}", "{clock(b)}"]]\n'
        for name, price, a, b in shelf["rates"]
    )
    text = a_shelf(shelf["crops"], shelf["ppfd"], zone, rate, f"dims_to = {shelf['dims_to']}")
    return text.replace("air_c = 20", f"air_c = {shelf['air']}").replace(
        "air_moving = true", f"air_moving = {str(shelf['fan']).lower()}"
    )


def marked(stretch):
    """Return which minutes of the day lie in a stretch."""
    first, last = stretch
    return np.array([(minute - first) % 1440 < ((last - first) % 1440 or 1440) for minute in range(1440)])


def shelf_air_is_fine(crop, shelf):
    return crop.air_base_c < shelf["air"] < crop.air_max_c


def verdict(crop, dli, hours, shelf):
    """Return whether a crop will not do, may be lost, has a day beyond what is known; lacks; burns."""
    well = max(0.7 * crop.dli_target_mol_m2_d, crop.dli_min_mol_m2_d)
    ceiling = crop.dli_max_mol_m2_d if shelf["fan"] else crop.dli_max_still_air_mol_m2_d
    too_warm = crop.air_quality_max_c is not None and shelf["air"] > crop.air_quality_max_c
    half = dli < crop.dli_min_mol_m2_d / 2
    no = not shelf_air_is_fine(crop, shelf) or dli > 2 * crop.dli_max_mol_m2_d or half
    bolts = crop.photoperiod_max_h is not None and hours > crop.photoperiod_max_h
    risk = bolts or (not no and too_warm)
    unknown = crop.photoperiod_max_h is None and hours > 16
    lacks = max(0.0, 1 - dli / well) if shelf_air_is_fine(crop, shelf) else 0.0
    return no, risk, unknown, lacks, dli > ceiling and not (no or risk)


def brute_force(shelf, tables, slowness):
    """Return the least (no, risk, unknown, slowness, burnt, lacking, quiet minutes a week, cost a day).

    ``slowness``: days to harvest over the fewest by (hours, output); up to 1.25 it is all the same.
    """
    price = np.full(1440, 0.3)
    for _, per_kwh, first, last in shelf["rates"]:
        price[marked((first, last))] = per_kwh
    quiet = marked(shelf["quiet"]) if shelf["quiet"] else np.zeros(1440, bool)
    outputs = sorted({1.0, shelf["dims_to"], *(n / 10 for n in range(1, 10) if n / 10 > shelf["dims_to"])})
    kept, broken = [], []
    for quarters in range(16, 81):
        ahead = [np.concatenate([values, values]) for values in (price, quiet)]
        windows = [
            np.lib.stride_tricks.sliding_window_view(v, 15 * quarters)[0:1440:15].sum(axis=1) for v in ahead
        ]
        for output in outputs:
            found = [
                verdict(
                    tables.crops[slug], shelf["ppfd"] * output * quarters / 4 * 0.0036, quarters / 4, shelf
                )
                for slug in shelf["crops"]
            ]
            key = (
                *(sum(flags) for flags in list(zip(*found, strict=True))[:3]),
                max(round(slowness[quarters / 4, round(output, 9)], 9), 1.25),
                sum(f[4] for f in found),
                round(sum(f[3] for f in found), 9),
            )
            some_well = any(not no and not risk for no, risk, *_ in found)
            for cost, loud in zip(windows[0] / 60 * output * 0.1, windows[1], strict=True):
                (kept if loud == 0 and some_well else broken).append((*key, 7 * float(loud), float(cost)))
    return min(kept or broken)


@pytest.mark.parametrize("seed", few_of(range(8), 1))
def test_no_pick_is_dearer_or_worse_than_the_whole_grid_has(seed, read_text, tables):
    """25 random spaces (by default four): the pick's crops, quiet minutes and cost are the least of all."""
    rng = np.random.default_rng(seed)
    for _ in range(examples(25)):
        shelf = random_shelf(rng)
        space = read_text(as_text(shelf))
        zone = space.zones[0]
        wanted = requirements(space, tables, bed_lights(space, tables), zone)
        prices = quarter_prices(space)[True]
        case = zone_case(space, tables, bed_lights(space, tables), zone, {True: prices})
        output, timer = case.place
        judged = case.judged
        days = 26 * 7
        slowness = {
            (float(hours), round(float(share), 9)): float(slow)
            for share, row in zip(case.on.brightness, judged.slowness, strict=True)
            for hours, slow in zip(case.on.lit_h, row, strict=True)
        }
        got = (
            judged.forbidden[case.place],
            judged.at_risk[case.place],
            judged.unknown[case.place],
            max(round(float(judged.slowness[case.place]), 9), 1.25),
            judged.burnt[case.place],
            round(float(judged.lacking[case.place]), 9),
            case.on.quiet_min[timer],
            case.on.money[timer] * case.on.brightness[output] / days * 0.1,
        )
        assert len(wanted) == len(shelf["crops"])
        assert got == pytest.approx(brute_force(shelf, tables, slowness), rel=1e-7, abs=1e-9), shelf


# --- where the file gives no hours --------------------------------------------------------------------------


def test_a_file_without_hours_is_planned_with_the_pick(read_text, tables):
    """The zone gets the picked hours, and they are listed as assumed; given hours stay as they are."""
    space = read_text(a_shelf(["lettuce-looseleaf"], 200, rate=NIGHT))
    ready = with_hours(space, tables)
    pick = advice(space, tables).zones[0].pick
    assert ready.zones[0].lit == pick.lit
    named = next(item for item in ready.assumed if item.key == "hours of shelf")
    assert named.value == "23:00-13:45 (14.75 h)"
    assert "no hours given, so picked" in named.why
    assert with_hours(ready, tables) is ready
    assert advice(space, tables).zones[0].now is None


def test_a_pick_that_dims_turns_watts_and_readings_down_with_it(read_text, tables):
    """At 0.4 of its output the lamp draws 40 W and the meter would read 200 of 500 umol."""
    ready = with_hours(read_text(a_shelf(["lettuce-looseleaf"], 500, fixture="dims_to = 0.4")), tables)
    assert (ready.fixtures[0].output, ready.fixtures[0].watts) == (pytest.approx(0.4), pytest.approx(40))
    assert ready.readings[0].umol_m2_s[0][0] == pytest.approx(200)
    assert bed_lights(ready, tables)[0].dli_mol_m2_d() == pytest.approx(0.4 * 500 * 16 * 0.0036)


@pytest.mark.parametrize("spaces", few_of([4, 60], 1))
def test_a_minute_finer_gains_little(spaces, read_text, tables):
    """Starts on every minute instead of every quarter hour save under 1 % of the pick's cost."""
    rng = np.random.default_rng(77)
    for _ in range(spaces):
        shelf = random_shelf(rng)
        space = read_text(as_text(shelf))
        case = zone_case(space, tables, bed_lights(space, tables), space.zones[0], quarter_prices(space))
        output, timer = case.place
        price = np.full(1440, 0.3)
        for _, per_kwh, first, last in shelf["rates"]:
            price[marked((first, last))] = per_kwh
        quiet = marked(shelf["quiet"]) if shelf["quiet"] else np.zeros(1440, bool)
        minutes = round(case.on.lit_h[timer] * 60)
        windows = [
            np.lib.stride_tricks.sliding_window_view(np.tile(values, 2), minutes)[:1440].sum(axis=1)
            for values in (price, quiet)
        ]
        least = windows[0][windows[1] * 7 <= case.on.quiet_min[timer] + 1e-6].min()
        cost = least / 60 * case.on.brightness[output]
        picked = case.on.money[timer] * case.on.brightness[output] / 182
        assert 0.99 * picked <= cost <= picked * (1 + 1e-9), shelf


@pytest.mark.parametrize("seed", few_of([1, 2, 3, 4, 5, 6], 2))
def test_the_best_two_stretches_are_found(seed, read_text, tables):
    """Two quiet stretches: of all pairs that keep them, counted out one by one, none is better or cheaper."""
    rng = np.random.default_rng(seed)
    shelf = {**random_shelf(rng), "quiet": None, "dims_to": 1.0, "ppfd": float(rng.uniform(180, 300))}
    shelf["crops"] = ["spinach-baby", "microgreens-brassica"]
    first, last = int(rng.integers(18, 30)), int(rng.integers(76, 92))
    noon = int(rng.integers(44, 60))
    hours = (
        f'[["{clock(15 * last)}", "{clock(15 * first)}"], ["{clock(15 * noon)}", "{clock(15 * noon + 60)}"]]'
    )
    text = as_text(shelf).replace('name = "shelf"\n', f'name = "shelf"\nquiet = [{{ hours = {hours} }}]\n', 1)
    found = advice(read_text(text), tables).zones[0]
    price = np.full(1440, 0.3)
    for _, per_kwh, begins, ends in shelf["rates"]:
        price[marked((begins, ends))] = per_kwh
    so_far = np.concatenate([[0.0], np.cumsum(price)]) / 60 * 0.1
    morning, evening = (first, noon), (noon + 4, last)
    longest = max(end - begin for begin, end in (morning, evening))
    for total in (longest + 1, longest + 6, last - first - 4):
        best_key = None
        for a in range(morning[0], morning[1]):
            for b in range(a + 4, morning[1] + 1):
                length = total - (b - a)
                for c in range(evening[0], evening[1] - length + 1) if length >= 4 else ():
                    d = c + length
                    seen = 24 - max(c - b, 96 - d + a) / 4
                    each = [
                        verdict(tables.crops[slug], shelf["ppfd"] * total / 4 * 0.0036, seen, shelf)
                        for slug in shelf["crops"]
                    ]
                    cost = so_far[15 * b] - so_far[15 * a] + so_far[15 * d] - so_far[15 * c]
                    key = (*(sum(one[place] for one in each) for place in range(3)), float(cost))
                    best_key = key if best_key is None else min(best_key, key)
        choice = next(one for one in found.choices if one.photoperiod_h == total / 4)
        assert len(choice.lit) == 2
        assert choice.cost_per_month / MONTH_D == pytest.approx(best_key[3]), (seed, total)
        mine = list(choice.suits.values())
        assert sum(suit in ("dark", "glare", "air") for suit in mine) == best_key[0]

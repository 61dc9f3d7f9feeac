"""The power bill against printed bills, and against a plain count of minutes."""

from datetime import date

import pytest
from billed_spaces import JUNE, MON_TO_FRI, a_space, a_zone, energy, flat, money, three_zones

from cropcal.planning.power.bill import bill, year_days, zone_day
from cropcal.records.space import Bed, Fixture, Load, Quiet
from cropcal.records.tariff import Block, Rate, Tariff

# --- printed bills -------------------------------------------------------------------------------


def test_window_fan_as_printed():
    """200 W for 4 h on 120 days: 96 kWh and 8.16 (AC Energy, "Energy Costs Estimator", acenergy.ca)."""
    # The page writes ".0850 cents", where 8.16 takes dollars.
    fan = Load(name="window fan", watts=200.0, hours_per_day=4.0)
    lines = bill(a_space(loads=[fan], tariff=flat(0.085), timezone="America/Phoenix"), JUNE, 120)
    assert energy(lines) == pytest.approx(96, abs=1e-9)
    assert money(lines) == pytest.approx(8.16, abs=1e-9)


def test_computer_as_printed_as_load_and_as_lamp():
    """120 + 150 W for 4 h on 365 days: 394.2 kWh (same page, printed as 394), whichever way it is said."""
    pc = Load(name="computer", watts=270.0, hours_per_day=4.0)
    by_the_clock = Load(name="computer by the clock", watts=270.0, on=(("18:00", "22:00"),))
    bench = a_zone(lit=(("22:00", "02:00"),))
    lamp = Fixture(zone=bench.name, watts=135.0, count=2)
    lines = bill(a_space([bench], [lamp], [pc, by_the_clock], timezone="America/Phoenix"), JUNE, 365)
    for what in ("computer", "computer by the clock", "lamps"):
        assert energy(line for line in lines if line.what == what) == pytest.approx(394.2, abs=1e-9)


def test_flat_bill_of_goodland():
    """1000 kWh at .127 and 15.00 a month: 142.00 (City of Goodland, Kansas, "Utility Rates")."""
    all_month = Load(name="all of it", watts=1000 / 720 * 1000, always=True)
    lines = bill(a_space(loads=[all_month], tariff=flat(0.127, standing_per_month=15.0)), JUNE, 30)
    assert [line.what for line in lines] == ["all of it", "standing charge"]
    assert money(lines) == pytest.approx(142.00, abs=1e-9)


# City of Seymour, "Residential Electricity: Bill Comparison": blocks of 250 and 450 kWh at .064 and .049,
# then .0446 in winter; in summer 550 kWh at .0475 come between. Power cost of .085 is on every kWh: it is
# added to each block here. Base 7.50, 1 % tax, and each printed line is rounded half up.
POWER_COST = 0.085


SEYMOUR = Tariff(
    rate=(
        Rate(
            name="winter",
            blocks=(
                Block(up_to_kwh=250.0, per_kwh=0.064 + POWER_COST),
                Block(up_to_kwh=700.0, per_kwh=0.049 + POWER_COST),
                Block(per_kwh=0.0446 + POWER_COST),
            ),
        ),
        Rate(
            name="summer",
            months=(6, 7, 8, 9),
            blocks=(
                Block(up_to_kwh=250.0, per_kwh=0.064 + POWER_COST),
                Block(up_to_kwh=700.0, per_kwh=0.049 + POWER_COST),
                Block(up_to_kwh=1250.0, per_kwh=0.0475 + POWER_COST),
                Block(per_kwh=0.0446 + POWER_COST),
            ),
        ),
    ),
    standing_per_month=7.50,
    tax_percent=1.0,
    currency="USD",
    round="line",
)


@pytest.mark.parametrize(
    ("start", "days", "use_kwh", "blocks", "before_tax", "tax", "total"),
    [
        (date(2021, 1, 1), 31, 1200, [(250, 16.00), (450, 22.05), (500, 22.30)], 169.85, 1.70, 171.55),
        (JUNE, 30, 2000, [(250, 16.00), (450, 22.05), (550, 26.13), (750, 33.45)], 275.13, 2.75, 277.88),
    ],
)
@pytest.mark.parametrize("rounding", ["line", "total"])
def test_block_bills_of_seymour_to_the_cent(rounding, start, days, use_kwh, blocks, before_tax, tax, total):
    """Winter and summer as printed, block by block, with base charge and tax, however it is rounded."""
    all_month = Load(name="all of it", watts=use_kwh / (24 * days) * 1000, always=True)
    tariff = SEYMOUR.model_copy(update={"round": rounding})
    *energy_lines, standing, taxed = bill(a_space(loads=[all_month], tariff=tariff), start, days)
    assert [round(line.kwh, 9) for line in energy_lines] == [kwh for kwh, _ in blocks]
    assert [line.cost - POWER_COST * line.kwh for line in energy_lines] == pytest.approx(
        [printed for _, printed in blocks], abs=0.0051
    )
    assert (standing.what, standing.cost) == ("standing charge", 7.50)
    assert taxed.what == "tax"
    assert round(money([*energy_lines, standing, taxed]), 9) == total
    if rounding == "line":
        assert taxed.cost == tax
        assert round(money([*energy_lines, standing]), 9) == before_tax


def test_a_space_pays_the_blocks_that_the_home_leaves():
    """240 of the first 250 kWh are gone: 30 more are 10 at .20 and 20 at .25, 7.00 in all, worked by hand."""
    tariff = Tariff(
        rate=(Rate(blocks=(Block(up_to_kwh=250.0, per_kwh=0.20), Block(per_kwh=0.25))),),
        other_use_kwh_per_month=240.0,
    )
    loads = [
        Load(name="mat", watts=20 / 720 * 1000, always=True),
        Load(name="fan", watts=10 / 720 * 1000, always=True),
    ]
    lines = bill(a_space(loads=loads, tariff=tariff), JUNE, 30)
    assert [(line.what, line.rate) for line in lines] == [
        ("mat", "base to 250 kWh"),
        ("mat", "base above 250 kWh"),
        ("fan", "base to 250 kWh"),
        ("fan", "base above 250 kWh"),
    ]
    # Both users have the same mix: a third of each in the cheap block.
    assert [line.kwh for line in lines] == pytest.approx([20 / 3, 40 / 3, 10 / 3, 20 / 3])
    assert money(lines) == pytest.approx(7.00)
    assert money(lines[:2]) == pytest.approx(2 / 3 * 7.00)


# River Falls Municipal Utilities, Wisconsin, "Time-of-Day Rates" (rates of 29 September 2020): 675.54 kWh a
# month, 45 % of it on-peak, and what time-of-day rates save when 0, 10, 15, 20 % of all use moves off-peak.
# The fixed charge of 14.00 is not printed: it is what the standard bill of 88.98 leaves over.
@pytest.mark.parametrize(
    ("on_peak", "printed", "saved"),
    [(0.45, 96.58, -7.60), (0.35, 88.14, 0.84), (0.30, 83.92, 5.07), (0.25, 79.70, 9.29)],
)
def test_time_of_day_bills_of_river_falls(on_peak, printed, saved):
    """Standard bill, time-of-day bill and their difference as printed, over a month by the calendar."""
    use_kwh = 675.54
    day_w = on_peak * use_kwh / (22 * 12) * 1000  # 22 working days of 12 h are on-peak
    night_w = (use_kwh - day_w * 30 * 12 / 1000) / (30 * 12) * 1000
    loads = [
        Load(name="by day", watts=day_w, on=(("07:00", "19:00"),)),
        Load(name="by night", watts=night_w, on=(("19:00", "07:00"),)),
    ]
    standard = flat(0.111, standing_per_month=14.0)
    peak = Rate(name="on-peak", per_kwh=0.191, hours=(("07:00", "19:00"),), days=MON_TO_FRI)
    time_of_day = Tariff(rate=(Rate(name="off-peak", per_kwh=0.066), peak), standing_per_month=14.0)
    paid = {
        name: bill(a_space(loads=loads, tariff=tariff, timezone="America/Chicago"), JUNE, 30)
        for name, tariff in (("standard", standard), ("time of day", time_of_day))
    }
    assert energy(paid["time of day"]) == pytest.approx(use_kwh, abs=1e-9)
    on_peak_kwh = energy(line for line in paid["time of day"] if line.rate == "on-peak")
    assert on_peak_kwh == pytest.approx(on_peak * use_kwh, abs=1e-9)
    assert round(money(paid["standard"]), 2) == 88.98
    assert round(money(paid["time of day"]), 2) == printed
    assert round(money(paid["standard"]) - money(paid["time of day"]), 2) == saved


def test_a_holiday_has_no_on_peak_hours():
    """River Falls: on-peak is Monday to Friday "except six holidays"; Labor Day 2020 was 7 September."""
    peak = Rate(name="on-peak", per_kwh=0.191, hours=(("07:00", "19:00"),), days=MON_TO_FRI)
    fan = Load(name="fan", watts=1000.0, always=True)
    for holidays, days_on_peak in (((), 22), ((date(2020, 9, 7),), 21)):
        tariff = Tariff(rate=(Rate(name="off-peak", per_kwh=0.066), peak), holidays=holidays)
        lines = bill(a_space(loads=[fan], tariff=tariff, timezone="America/Chicago"), date(2020, 9, 1), 30)
        assert [(line.rate, line.kwh) for line in lines] == [
            ("off-peak", 720 - 12 * days_on_peak),
            ("on-peak", 12 * days_on_peak),
        ]


@pytest.mark.parametrize(("efficacy_umol_j", "kwh_per_mol"), [(1.70, 0.1634), (2.3, 0.1208), (3.4, 0.0817)])
def test_energy_of_a_mol_of_light(efficacy_umol_j, kwh_per_mol):
    """A lamp takes 1/(3.6 × efficacy in µmol per joule) kWh a mol (by definition of the units)."""
    bench = a_zone(lit=(("06:00", "22:00"),))
    lines = bill(a_space([bench], [Fixture(zone=bench.name, watts=83.0)]), JUNE, 1)
    mol = 83.0 * efficacy_umol_j * 16 * 3600 / 1e6
    assert energy(lines) / mol == pytest.approx(kwh_per_mol, abs=5e-5)


# --- what stands in which line -------------------------------------------------------------------


def test_lines_by_month_user_and_rate():
    """Months in order; in each the lamps of each zone, the loads, standing charge, tax; base rate first."""
    bench = a_zone(lit=(("22:00", "06:00"),))
    night = Rate(name="a night", per_kwh=0.1, hours=(("23:00", "07:00"),))
    tariff = Tariff(rate=(night, Rate(per_kwh=0.3)), standing_per_day=0.5, tax_percent=10.0)
    fan = Load(name="fan", watts=10.0, always=True)
    lines = bill(
        a_space([bench], [Fixture(zone=bench.name, watts=100.0)], [fan], tariff), date(2027, 1, 31), 2
    )
    assert [(line.month, line.what, line.zone, line.rate) for line in lines[:6]] == [
        ("2027-01", "lamps", "cellar bench", "base"),
        ("2027-01", "lamps", "cellar bench", "a night"),
        ("2027-01", "fan", "", "base"),
        ("2027-01", "fan", "", "a night"),
        ("2027-01", "standing charge", "", ""),
        ("2027-01", "tax", "", ""),
    ]
    assert {line.month for line in lines[6:]} == {"2027-02"}
    # Each day: lamp 1 h before the night rate, 7 h in it; fan 16 h and 8 h.
    assert [line.kwh for line in lines[:6]] == pytest.approx([0.1, 0.7, 0.16, 0.08, 0, 0])
    assert [line.cost for line in lines[:6]] == pytest.approx([0.03, 0.07, 0.048, 0.008, 0.5, 0.0656])


def test_without_a_tariff_there_is_energy_but_no_money():
    """The kWh of lamps and loads are known without prices; costs are not, and are never 0."""
    space = three_zones("Europe/Berlin", tariff=None)
    lines = bill(space, JUNE, 30)
    assert {line.rate for line in lines} == {""}
    assert {line.cost for line in lines} == {None}
    assert {line.what for line in lines} == {"lamps", "air pump", "flood pump", "dosing", "fan"}
    assert {day.cost for day in zone_day(space, JUNE, 30).values()} == {None}


def test_prices_that_include_tax_get_no_tax_line():
    """Tax is not charged twice, neither in the bill nor in the cost of a day."""
    tariff = flat(0.30, tax_percent=20.0, prices_include_tax=True)
    bench = a_zone(lit=(("06:00", "22:00"),))
    space = a_space([bench], [Fixture(zone=bench.name, watts=100.0)], (), tariff)
    assert [line.what for line in bill(space, JUNE, 30)] == ["lamps"]
    assert zone_day(space, JUNE, 30)["cellar bench"] == pytest.approx((1.6, 0.48))


def test_a_monthly_charge_is_shared_out_by_days():
    """Half of June and all of July: half a charge and a whole one."""
    tariff = flat(0.30, standing_per_month=12.0)
    lines = bill(a_space(tariff=tariff), date(2027, 6, 16), 15 + 31)
    assert [(line.month, line.what, line.cost) for line in lines] == [
        ("2027-06", "standing charge", pytest.approx(6.0)),
        ("2027-07", "standing charge", pytest.approx(12.0)),
    ]


def test_watts_at_the_wall_are_not_scaled_by_output():
    """Watts are those drawn at the output in use; only the count multiplies them."""
    bench = a_zone(lit=(("00:00", "10:00"),))
    lamps = [Fixture(zone=bench.name, watts=50.0, output=0.5, count=2), Fixture(zone=bench.name, watts=20.0)]
    assert [line.kwh for line in bill(a_space([bench], lamps), JUNE, 1)] == pytest.approx([1.2])


def test_rates_of_one_name_share_a_line():
    """Two night rates, winter and summer, both called night: one line a month."""
    tariff = Tariff(
        rate=(
            Rate(per_kwh=0.3),
            Rate(name="night", per_kwh=0.2, hours=(("23:00", "00:00"),)),
            Rate(name="night", per_kwh=0.1, hours=(("00:00", "07:00"),)),
        )
    )
    fan = Load(name="fan", watts=1000.0, always=True)
    lines = bill(a_space(loads=[fan], tariff=tariff), JUNE, 1)
    assert [(line.rate, line.kwh) for line in lines] == [("base", 16.0), ("night", 8.0)]
    assert lines[1].cost == pytest.approx(1 * 0.2 + 7 * 0.1)


def test_loads_are_shared_by_floor_area():
    """A zone of twice the floor pays for twice the pump's share, and its own lamp alone."""
    zones = [
        a_zone("small", lit=(("00:00", "10:00"),)),
        a_zone("large", lit=(("00:00", "10:00"),), length_m=2.0),
    ]
    pump = Load(name="pump", watts=30.0, always=True)
    space = a_space(zones, [Fixture(zone="small", watts=100.0)], [pump], flat(0.5, standing_per_day=9.0))
    days = zone_day(space, JUNE, 7)
    assert days["small"] == pytest.approx((1.0 + 0.24, 0.62))
    assert days["large"] == pytest.approx((0.48, 0.24))


def test_a_lamp_that_is_off_draws_its_standby():
    """100 W for 16 h and 2 W for the other 8 h: 1.6 and 0.016 kWh, in one line."""
    bench = a_zone(lit=(("06:00", "22:00"),))
    lamp = Fixture(zone=bench.name, watts=100.0, standby_watts=2.0)
    (line,) = bill(a_space([bench], [lamp]), JUNE, 1)
    assert line.kwh == pytest.approx(1.6 + 0.016)


def test_a_load_of_one_zone_is_borne_by_it_alone():
    """A mat under the seedlings costs the heads of the other zone nothing."""
    zones = [a_zone("small", lit=(("00:00", "10:00"),)), a_zone("large", lit=(("00:00", "10:00"),))]
    mat = Load(name="mat", zone="small", watts=30.0, always=True)
    space = a_space(zones, loads=[mat], tariff=flat(0.5))
    assert [(line.zone, line.what) for line in bill(space, JUNE, 1)] == [("small", "mat")]
    days = zone_day(space, JUNE, 7)
    assert days["small"] == pytest.approx((0.72, 0.36))
    assert days["large"] == pytest.approx((0.0, 0.0))


def test_a_zone_without_beds_bears_no_share():
    """What all zones share is borne where something grows: no watt is lost from the cost of the heads."""
    zones = [a_zone("used", lit=(("00:00", "10:00"),)), a_zone("empty", lit=(("00:00", "10:00"),))]
    pump = Load(name="pump", watts=100.0, always=True)
    space = a_space(zones, loads=[pump], beds=[Bed(name="box", zone="used")])
    assert {zone: day.kwh for zone, day in zone_day(space, JUNE, 3).items()} == {
        "used": pytest.approx(2.4),
        "empty": 0.0,
    }


def test_blocks_and_cents_are_no_part_of_a_days_cost_but_the_marginal_price_is():
    """On top of 300 kWh each kWh costs .40, not the .10 of the first block; nothing is rounded."""
    tariff = Tariff(
        rate=(Rate(blocks=(Block(up_to_kwh=200.0, per_kwh=0.10), Block(per_kwh=0.40))),),
        other_use_kwh_per_month=300.0,
        round="total",
    )
    bench = a_zone(lit=(("00:00", "10:00"),))
    space = a_space([bench], [Fixture(zone=bench.name, watts=1.0)], tariff=tariff)
    assert zone_day(space, JUNE, 30)[bench.name] == pytest.approx((0.01, 0.004))


def test_rounding_goes_by_the_currency():
    """Yen have no cents, dinars have thousandths (ISO 4217)."""
    fan = Load(name="fan", watts=1000.0, always=True)
    for currency, cost in (("JPY", 30.0), ("EUR", 29.63), ("KWD", 29.626)):
        tariff = flat(1.2344, currency=currency, round="total")
        assert money(bill(a_space(loads=[fan], tariff=tariff), JUNE, 1)) == pytest.approx(cost, abs=1e-12)


def test_lines_and_tax_are_rounded_one_by_one_and_the_total_once():
    """Two rates of 1.005: by line 1.01 + 1.01 and 10 % tax .20; by total 2.01 + .201, that is 2.21."""
    day = Load(name="by day", watts=1000.0, on=(("06:00", "07:00"),))
    night = Load(name="by night", watts=1000.0, on=(("01:00", "02:00"),))
    rates = (Rate(per_kwh=1.005), Rate(name="night", per_kwh=1.005, hours=(("00:00", "05:00"),)))
    for rounding, costs in (("line", [1.01, 1.01, 0.20]), ("total", [1.01, 1.00, 0.20]), (None, None)):
        tariff = Tariff(rate=rates, tax_percent=10.0, round=rounding)
        lines = bill(a_space(loads=[day, night], tariff=tariff), JUNE, 1)
        expected = costs or [1.005, 1.005, 0.201]
        assert [line.cost for line in lines] == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(
    ("start", "days"), [(date(2027, 1, 4), 365), (date(2027, 6, 1), 366), (date(2028, 2, 29), 366)]
)
def test_twelve_months_end_on_the_eve_of_the_same_date(start, days):
    """From 4 January until 3 January; from a leap day until the last day of February."""
    assert year_days(start) == days


def test_hours_are_picked_where_only_the_length_of_the_day_is_given():
    """Eight hours of light find the night rate."""
    bench = a_zone(photoperiod_h=8.0, quiet=(Quiet(hours=(("08:00", "22:00"),)),))
    tariff = Tariff(rate=(Rate(per_kwh=0.3), Rate(name="night", per_kwh=0.1, hours=(("23:30", "07:30"),))))
    lines = bill(a_space([bench], [Fixture(zone=bench.name, watts=100.0)], (), tariff), JUNE, 1)
    assert [(line.rate, line.kwh) for line in lines] == [("night", 0.8)]


def test_no_days_no_lines():
    """A bill over no days is empty; the mean of no days is refused."""
    space = three_zones("Europe/Berlin")
    assert bill(space, JUNE, 0) == ()
    with pytest.raises(ValueError, match="days must be at least 1, not 0"):
        zone_day(space, JUNE, 0)


def test_a_load_has_to_say_when_it_is_on():
    """A load without any hours is a mistake, not a load that is off."""
    space = a_space(loads=[Load(name="mystery", watts=5.0)])
    with pytest.raises(ValueError, match="load mystery does not say when it is on"):
        bill(space, JUNE, 1)

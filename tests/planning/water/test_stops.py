"""What may have dried while a pump was off, by the plan and the journal."""

from datetime import date, datetime, timedelta

import pytest

from cropcal.planning.planner import plan
from cropcal.planning.water.stops import SHOWN_D, loss_notes, loss_shares, may_stop_h, stopped_pumps
from cropcal.planning.water.use import water_use
from cropcal.records.journal import Entry
from tests.support import small_space

FLOODED = 'photoperiod_h = 15\nwatered = "flood"\npot_l = 0.3'


@pytest.fixture(scope="module")
def planned(read_text, tables):
    """Return a space, and the pots of its plan."""
    space = read_text(small_space.text(hours=FLOODED, weeks=10, per_week=2))
    result = plan(space, tables)
    return space, water_use(space, tables, result.lights).pots(result.batches, result.sites)


def outage(on, hours=13.0, what="pump", **more):
    return Entry(event="outage", on=on, what=what, amount=hours, unit="h", line=5, **more)


ON = date(2026, 9, 15)


def stops(planned, *events, on=ON + timedelta(days=1), **changes):
    space, pots = planned
    zones = tuple(zone.model_copy(update=changes) for zone in space.zones)
    return stopped_pumps(space.model_copy(update={"zones": zones}), pots, events, on)


def test_seedlings_may_have_dried(planned):
    (stop,) = stops(planned, outage(ON))
    assert stop.hours == 13
    assert stop.dried
    assert all(row.frail and 0 < row.loss_share < 1 for row in stop.dried)
    assert all(row.low_h < 13 for row in stop.dried)


def test_the_times_of_a_stop_count_as_its_hours(planned):
    timed = Entry(event="outage", on=ON, what="pump", line=5,
                  starts=datetime(2026, 9, 15, 20, 0), ends=datetime(2026, 9, 16, 9, 0))  # noqa: DTZ001  # fmt: skip
    (stop,) = stops(planned, timed)
    (other,) = stops(planned, outage(ON))
    assert (stop.hours, stop.dried) == (other.hours, other.dried)


@pytest.mark.parametrize("what", ["lamp", "fan"])
def test_lamp_and_fan_dry_nothing(planned, what):
    assert stops(planned, outage(ON, what=what)) == ()


def test_power_stops_the_pump_too(planned):
    (stop,) = stops(planned, outage(ON, what="power"))
    assert stop.what == "power"
    assert stop.dried


def test_a_short_stop_dries_nothing(planned):
    (stop,) = stops(planned, outage(ON, 1.0))
    assert stop.dried == ()


@pytest.mark.parametrize("zone", ["shelf", ""])
def test_a_stop_is_that_of_its_zone_or_of_all(planned, zone):
    (stop,) = stops(planned, outage(ON, zone=zone))
    assert stop.dried


def test_where_no_pump_waters_nothing_dries(planned):
    (stop,) = stops(planned, outage(ON), watered="hand", pot_l=None)
    assert stop.dried == ()


def test_roots_in_a_tank_do_without_for_a_day(planned):
    late = date(2026, 10, 19)
    (night,) = stops(planned, outage(late, 12.0), on=late, watered="deep water", pot_l=None)
    assert not [row for row in night.dried if row.bed == "channel"]
    (long,) = stops(planned, outage(late, 48.0), on=late, watered="deep water", pot_l=None)
    assert [row for row in long.dried if row.bed == "channel"]


def test_a_look_since_takes_its_place(planned):
    (stop,) = stops(planned, outage(ON))
    batch = stop.dried[0].batch
    note = Entry(event="emerged", on=ON + timedelta(days=1), batch=batch, line=6)
    (after,) = stops(planned, outage(ON), note)
    assert batch not in {row.batch for row in after.dried}
    before = Entry(event="emerged", on=ON - timedelta(days=1), batch=batch, line=4)
    (still,) = stops(planned, outage(ON), before)
    assert batch in {row.batch for row in still.dried}


def test_a_stop_is_shown_for_two_weeks(planned):
    assert stops(planned, outage(ON), on=ON + timedelta(days=SHOWN_D))
    assert stops(planned, outage(ON), on=ON + timedelta(days=SHOWN_D + 1)) == ()
    assert stops(planned, outage(ON), on=ON - timedelta(days=1)) == ()


def test_old_plants_wilt_and_most_recover(planned):
    late = date(2026, 10, 19)
    (stop,) = stops(planned, outage(late, 30.0), on=late)
    old = [row for row in stop.dried if not row.frail]
    assert old
    assert all(row.loss_share <= 0.1 for row in old)


def test_longer_stops_never_lose_less(planned):
    shares = [
        sum(loss_shares(stops(planned, outage(ON, hours))).values()) for hours in (2.0, 8.0, 13.0, 30.0, 90.0)
    ]
    assert shares == sorted(shares)
    assert shares[0] < shares[-1] <= 0.5 * len(stops(planned, outage(ON, 90.0))[0].dried)


def test_two_stops_take_their_share_one_after_the_other(planned):
    once = loss_shares(stops(planned, outage(ON, 30.0)))
    twice = loss_shares(stops(planned, outage(ON, 30.0), outage(ON, 30.0)))
    for batch, share in once.items():
        assert twice[batch] == pytest.approx(1 - (1 - share) ** 2)


def test_the_loss_is_shown_as_assumed(planned):
    (note,) = loss_notes(stops(planned, outage(ON, 30.0)))
    assert "15 Sep" in note.key
    assert note.value.endswith("of a batch lost")
    assert list(loss_notes(stops(planned, outage(ON, 1.0)))) == []


def test_pots_that_are_not_there_do_not_dry(planned):
    space, pots = planned
    assert may_stop_h(space, pots[0], pots[0].first - timedelta(days=1)) is None

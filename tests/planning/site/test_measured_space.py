"""Readings of a thermometer and a plug meter replace assumed and given values, everywhere."""

import json
from datetime import date, datetime, timedelta

import pytest
from typer.testing import CliRunner

from cropcal.cli.main import app
from cropcal.planning.history.discrepancies import discrepancies
from cropcal.planning.history.observed_conditions import observed_conditions
from cropcal.planning.site.air import cooling, room_notes, zone_air
from cropcal.planning.site.bed_light import bed_lights
from cropcal.planning.site.measured_overrides import with_measurements
from cropcal.records.journal import AirReading, Entry, MeterReading
from cropcal.season.load import fingerprint

SPACE = """
[place]
name = "Under the eaves"
timezone = "Europe/Paris"
[[zone]]
name = "eaves"
length_m = 1.0
width_m = 0.6
photoperiod_h = 16
{air}
[[bed]]
name = "gutter"
zone = "eaves"
rows = 2
columns = 4
length_m = 0.8
width_m = 0.4
[[fixture]]
zone = "eaves"
watts = 100
{watts_from}
[[load]]
name = "air pump"
watts = 5
always = true
[plan]
start = 2027-03-15
weeks = 8
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
"""
FIRST = datetime.fromisoformat("2027-02-01T00:00")


def text(air="", watts_from=""):
    return SPACE.format(air=air, watts_from=watts_from)


def air(days=42, on_c=25.0, off_c=18.0, first=FIRST):
    """Return half-hourly readings of a lamp that is on 06:00 to 22:00, read at 15 and 45 past."""
    moments = [first + timedelta(minutes=30 * n + 15) for n in range(48 * days)]
    return [AirReading(at=at, air_c=on_c if 6 <= at.hour < 22 else off_c) for at in moments]


def meter(kwh_a_day, days=42):
    return [MeterReading(at=FIRST + timedelta(days=n), kwh=7 + n * kwh_a_day) for n in range(days + 1)]


@pytest.mark.parametrize(
    ("told", "instead"),
    [("", "21 °C assumed"), ("air_c = 19", "19 °C by space.toml"), ("room_c = 10", "in place of")],
)
def test_measured_air_beats_what_was_assumed_told_or_reckoned(read_text, told, instead):
    """25 with the lamp on and 18 off are planned with, and said with their source."""
    space = with_measurements(read_text(text(told)), air(), [])
    found = zone_air(space.zone("eaves"), space.fixtures)
    assert (found.lamp_on_c, found.lamp_off_c) == (pytest.approx(25), pytest.approx(18))
    (note,) = room_notes(space)
    assert note.value == "25.0 °C with the lamp on, 18.0 °C off"
    assert note.why.startswith("measured by air.csv, 3 weeks to 14 Mar 2027")
    assert instead in note.why
    assert not any("air_c" in item.key for item in space.assumed)


def test_only_the_last_weeks_count_ahead(read_text):
    """A cold February does not cool a plan made in the middle of March; three days are needed at least."""
    cold, warm = air(20, 16.0, 10.0), air(22, 25.0, 18.0, FIRST + timedelta(days=20))
    space = with_measurements(read_text(text()), [*cold, *warm], [])
    assert zone_air(space.zone("eaves"), ()).lamp_on_c == pytest.approx(25, abs=0.05)
    few = with_measurements(read_text(text()), air(2), [])
    assert few.measured_air == ()
    assert zone_air(few.zone("eaves"), ()).mean_c == 21


def test_air_of_another_season_is_history_only(read_text):
    """Readings that ended in autumn say nothing about spring, and the screen says so."""
    space = with_measurements(read_text(text()), air(first=datetime.fromisoformat("2026-09-01T00:00")), [])
    assert zone_air(space.zone("eaves"), ()).mean_c == 21
    assert "too long before the plan starts" in room_notes(space)[0].why


def test_history_is_as_warm_as_it_was_day_by_day(read_text, tables):
    """A measured day has its own mean, (16 x 25 + 8 x 18) / 24; another what the journal or the file says."""
    space = with_measurements(read_text(text("air_c = 20")), air(10), [])
    space = space.model_copy(update={"zones": read_text(text("air_c = 20")).zones})
    noted = [Entry(on=date(2027, 1, 20), event="air", zone="eaves", amount=12, unit="C")]
    found = observed_conditions(space, bed_lights(space, tables), noted)
    assert found.on("gutter", date(2027, 1, 10)).air_c == 20
    assert found.on("gutter", date(2027, 1, 25)).air_c == 12
    assert found.on("gutter", date(2027, 2, 4)).air_c == pytest.approx((16 * 25 + 8 * 18) / 24)


def test_a_meter_tells_what_lamps_draw_of_their_labels(read_text, tables):
    """82 W for 16 h and a pump of 5 W: the label of 100 W is 18 % too high, and light is less and surer."""
    before = read_text(text())
    space = with_measurements(before, [], meter(0.082 * 16 + 0.005 * 24))
    (lamp,), (seen,) = space.fixtures, space.metered
    assert (lamp.watts, lamp.watts_from) == (pytest.approx(82), "meter")
    assert (seen.days, seen.last) == (28, date(2027, 3, 14))
    assert seen.kwh == pytest.approx(28 * 1.432)
    assert seen.computed_kwh == pytest.approx(28 * 1.72)
    assert "lamps at 82% of theirs" in seen.causes[0]
    assert "13.1 h a day in place of 16 h" in seen.causes[1]  # (1.432 - 0.12) / 0.1
    (old,), (new,) = bed_lights(before, tables), bed_lights(space, tables)
    assert new.ppfd_umol_m2_s == pytest.approx(0.82 * old.ppfd_umol_m2_s)
    assert new.sd_ln < old.sd_ln


@pytest.mark.parametrize(
    ("watts_from", "w", "cause"),
    [("", 30, "30 W day and night"), ('watts_from = "meter"', 10, "10 W day and night")],
)
def test_what_labels_cannot_explain_scales_no_lamp(read_text, watts_from, w, cause):
    """A load that nobody wrote down draws day and night; a lamp that was metered keeps its watts."""
    space = with_measurements(read_text(text(watts_from=watts_from)), [], meter(1.72 + w * 24 / 1000))
    assert space.fixtures[0].watts == 100
    assert space.metered[0].factor is None
    assert cause in space.metered[0].causes[-1]


def test_a_meter_that_agrees_raises_no_doubt(read_text):
    """No causes for a difference of 2 %."""
    space = with_measurements(read_text(text(watts_from='watts_from = "meter"')), [], meter(1.72 * 1.02))
    assert space.metered[0].causes == ()
    assert space.metered[0].ratio == pytest.approx(1.02)


def test_what_is_tried_beats_what_was_measured(read_text):
    """With --set the air or the watts of the command line hold; tried hours leave the past as it was."""
    told, warm = read_text(text()), read_text(text("air_c = 30"))
    assert zone_air(with_measurements(warm, air(), [], told).zone("eaves"), ()).mean_c == 30
    longer = read_text(text().replace("photoperiod_h = 16", "photoperiod_h = 12"))
    space = with_measurements(longer, [], meter(0.082 * 16 + 0.005 * 24), told)
    assert space.fixtures[0].watts == pytest.approx(82)


def test_a_measured_zone_keeps_the_cures_of_its_room(read_text):
    """Room 18, measured 25 on and 18 off: 66.7 W in the mean warm it by 4.67 K, so 14.3 W/K go out.

    The fan of 15 m3/h carries 5 of them, 9.29 are left to the walls. At most 21.5 C: (66.7 - 9.29 x 3.5) W
    over (1.2 / 3.6 x 3.5 - 0.1 for the fan's own heat) W is 32 m3/h, or 3.5 / 4.67 of 100 W.
    """
    told = read_text(text("room_c = 18\nfan_m3_h = 15"))
    space = with_measurements(told, air(), [])
    zone = space.zone("eaves")
    found = zone_air(zone, space.fixtures)
    assert (found.lamp_on_c, found.lamp_off_c) == (pytest.approx(25), pytest.approx(18))
    assert zone.loss_w_per_k == pytest.approx(200 / 14 - 5)
    said = cooling(zone, found, 21.5)
    assert "a fan of about 35 m³/h" in said
    assert "at most 74 W of lamp" in said
    (note,) = room_notes(space)
    assert note.why.startswith("measured by air.csv")


@pytest.mark.parametrize("room", ["room_c = 23", "room_c = 30"])
def test_a_room_told_warmer_than_the_zone_is_not_reckoned_with(read_text, room):
    """Lamps do not cool: the room temperature given is wrong, and no cure goes by it."""
    space = with_measurements(read_text(text(room)), air(), [])
    assert space.zone("eaves").room_c is None


@pytest.fixture
def eaves(tmp_path, monkeypatch):
    """Return a folder with both series, read on the day after the last reading."""
    monkeypatch.setattr("cropcal.season.clock.today", lambda: date(2027, 3, 15))
    (tmp_path / "space.toml").write_text(text(), encoding="utf-8")
    rows = "".join(f"{one.at:%Y-%m-%d %H:%M},{one.air_c}\n" for one in air())
    (tmp_path / "air.csv").write_text("time,air_c\n" + rows, encoding="utf-8")
    rows = "".join(f"{one.at:%Y-%m-%d},{one.kwh:.3f}\n" for one in meter(1.432))
    (tmp_path / "meter.csv").write_text("date,kwh\n" + rows, encoding="utf-8")
    return tmp_path


def run(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


@pytest.mark.parametrize("command", ["light", "when", "bill", "learned", "photoperiod"])
def test_every_command_says_what_it_measured_by(eaves, command):
    """In its JSON, with dates; and in words where it lists what it goes by."""
    more = ["lettuce-butterhead", "--sown", "2027-03-16"] if command == "when" else []
    done = run(command, eaves, *more, "--json")
    assert done.exit_code == 0, done.output
    seen = {row["source"]: row for row in json.loads(done.stdout)["measured"]}
    assert seen["air.csv"]["lamp_on_air_c"] == pytest.approx(25)
    assert seen["meter.csv"]["lamps_of_label"] == pytest.approx(0.82, abs=0.001)
    if command in ("light", "when"):
        assert "measured by air.csv" in " ".join(run(command, eaves, *more).stdout.split())


def test_the_bill_is_held_against_the_meter(eaves):
    """How much off, and what may be behind it."""
    shown = " ".join(run("bill", eaves).stdout.split())
    assert "40 kWh by meter.csv, 48 kWh by the file's watts and hours: 17% less on the meter." in shown
    assert "lamps at 82% of theirs explain it" in shown


def test_check_looks_at_the_series_and_a_plan_knows_them(eaves):
    """A bad line is reported by file and line and stops every command; another reading makes another plan."""
    before = fingerprint(eaves)
    with (eaves / "air.csv").open("a", encoding="utf-8") as file:
        file.write("2027-03-15 06:00,warm\n")
    assert fingerprint(eaves) != before
    for command in ("check", "light"):
        done = run(command, eaves)
        assert done.exit_code == 2
        assert 'air.csv:2018: air_c: found "warm"' in done.stderr


def test_a_note_that_the_file_has_otherwise_is_pointed_out(read_text, tables):
    """With the line that would let plans go by it; a note that agrees is not."""
    space = read_text(text("air_c = 20"))
    on = date(2027, 3, 10)
    events = [
        Entry(on=on, event="air", zone="eaves", amount=26, unit="C"),
        Entry(on=on, event="lamp hours", zone="eaves", amount=14, unit="h"),
    ]
    said = discrepancies(space, events)
    lines = ("air_c = 26", "photoperiod_h = 14")
    assert all(line in one for line, one in zip(lines, said, strict=True))
    agree = {"air": 20.0, "lamp hours": 16.0}
    same = [event.model_copy(update={"amount": agree[event.event]}) for event in events]
    assert discrepancies(space, same) == ()

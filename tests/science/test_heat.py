"""Heat: the printed ventilation examples, the handbook constants, and a box stepped through a day."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropcal.science import heat

CFM_M3_H = 0.3048**3 * 60
"""A cubic foot a minute in m3/h, by the definition of the foot."""
BTU_H_W = 1055.05585262 / 3600
"""A Btu an hour in W, by the International Table Btu."""
K_PER_F = 5 / 9

SOME = st.floats(0.1, 1000)
NONE_OR_SOME = st.one_of(st.just(0.0), SOME)


def test_a_hall_takes_67_kw():
    """10,000 m3/h warmed by 20 K carry 67 kW (The Engineering ToolBox, "Sensible heat flow")."""
    assert heat.watts_for_rise(20, 10_000, 0) == pytest.approx(67_000, rel=0.007)


@pytest.mark.parametrize(
    ("cfm", "rise_f", "btu_h", "within"),
    [
        (1, 20, 21.6, 0.007),  # The Engineering ToolBox, Cooling and heating equations: 32 to 52 F
        (1, 1, 0.075 * 0.24 * 60, 0.007),  # ASHRAE standard air: 0.075 lb/ft3, 0.24 Btu/lbF
        (10_000, 10, 110_000, 0.025),  # the 1.10 that counts the air's moisture too
    ],
)
def test_handbook_flows(cfm, rise_f, btu_h, within):
    """Btu/h = 1.08 x cfm x F, in units of our own; moist air carries 2 % more, which is left out."""
    found = heat.watts_for_rise(rise_f * K_PER_F, cfm * CFM_M3_H, 0)
    assert found == pytest.approx(btu_h * BTU_H_W, rel=within)
    assert found < btu_h * BTU_H_W, "ours is the warm side"


def test_a_kilowatt_and_ten_degrees_fahrenheit():
    """1 kW = 3412 Btu/h at a rise of 10 F needs 3412 / (1.08 x 10) = 316 cfm by ASHRAE's 1.08."""
    found = heat.flow_for_rise_m3_h(1000, 10 * K_PER_F, 0) / CFM_M3_H
    assert found == pytest.approx(3412 / 10.8, rel=0.007)


def test_a_computer_case():
    """Fan makers size by m3/min = 0.05 x W / K: 200 W and 40 K take 0.25 m3/min (cp 0.24, 1200 g/m3)."""
    assert heat.flow_for_rise_m3_h(200, 40, 0) / 60 == pytest.approx(0.25, rel=0.01)


def test_by_hand():
    """100 W, 60 m3/h (20 W/K) and walls of 5 W/K: 4 K; a box of 20 W/K alone: 5 K; both lie on the room."""
    np.testing.assert_allclose(heat.air_c(20, 100, [60, 0], [5, 20]), [24, 25], rtol=1e-12)
    assert heat.mean_air_c(24, 18, 16) == pytest.approx(22)


def test_a_fans_own_watts_count():
    """100 W kept to 5 K by a fan of 0.2 W per m3/h: 100 + 0.2 Q = 5 x Q / 3, so Q = 68.18 m3/h, not 60."""
    assert heat.flow_for_rise_m3_h(100, 5, 0, 0.2) == pytest.approx(100 / (5 / 3 - 0.2))
    assert heat.flow_for_rise_m3_h(100, 5, 0) == pytest.approx(60)
    assert heat.flow_for_rise_m3_h(100, 0.5, 0, 0.2) == np.inf, "it warms more than it cools"


def test_the_ends():
    """No watts: the room's air, even sealed; watts and no way out: no steady air; no rise: no fan will do."""
    assert heat.air_c(20, 0, 0, 0) == 20
    assert heat.rise_k(10, 0, 0) == np.inf
    assert heat.flow_for_rise_m3_h(10, 0, 5) == np.inf
    assert heat.flow_for_rise_m3_h(10, 2, 5) == 0, "the walls do"


@pytest.mark.parametrize("bad", [(-1, 1, 1), (1, -1, 1), (1, 1, -1)])
def test_less_than_nothing_is_refused(bad):
    """Negative watts, flows and losses have no meaning here."""
    for function in (heat.rise_k, heat.flow_for_rise_m3_h, heat.watts_for_rise):
        with pytest.raises(ValueError, match="must not be negative"):
            function(*bad)


@given(room=st.floats(-20, 40), watts=NONE_OR_SOME, flow=NONE_OR_SOME, loss=SOME, more=NONE_OR_SOME)
def test_more_flow_is_never_warmer(room, watts, flow, loss, more):
    """More air, thinner walls or fewer watts never warm; nothing falls below the room."""
    air = heat.air_c(room, watts, flow, loss)
    assert room <= heat.air_c(room, watts, flow + more, loss) <= air
    assert room <= heat.air_c(room, watts, flow, loss + more) <= air
    assert heat.air_c(room, watts + more, flow, loss) >= air


@given(watts=SOME, flow=SOME, loss=NONE_OR_SOME)
def test_there_and_back(watts, flow, loss):
    """Flow and watts for a rise are the flow and the watts that made it."""
    rise = heat.rise_k(watts, flow, loss)
    assert heat.watts_for_rise(rise, flow, loss) == pytest.approx(watts)
    assert heat.flow_for_rise_m3_h(watts, rise, loss) == pytest.approx(flow, rel=1e-6, abs=1e-6 * (loss + 1))


@pytest.mark.parametrize("water_l", [0.0, 20.0])
def test_a_box_stepped_through_days(water_l):
    """Stepped second by second, a 0.5 m3 box settles to the steady air; 20 l of water change no daily mean.

    Heat stored: 1.2 kJ/K a m3 of air, 4.18 kJ/K a litre of water. 100 W for 16 h of 24, 30 m3/h, 4 W/K.
    """
    stored_j_k = 1200 * 0.5 + 4180 * water_l
    step_s, room, carried = 5.0, 18.0, 30 / 3600 * 1200 + 4.0
    steps = int(86400 / step_s)
    lit = np.arange(steps) * step_s < 16 * 3600
    air, day = room, np.empty(steps)
    for _ in range(2 if water_l == 0 else 6):
        for step in range(steps):
            air += step_s * (100.0 * lit[step] - carried * (air - room)) / stored_j_k
            day[step] = air
    on, off = heat.air_c(room, [100, 0], 30, 4)
    assert day.mean() == pytest.approx(heat.mean_air_c(on, off, 16), abs=0.02)
    if water_l == 0:
        assert day[int(3600 / step_s)] == pytest.approx(on, abs=1e-3)
    else:
        assert day.max() < on
        assert day.min() > off


def test_many_outputs_at_once():
    """Watts by output level, flows and rooms broadcast."""
    levels = np.linspace(0.2, 1, 5)[:, None]
    found = heat.air_c(20, 100 * levels, np.array([0.0, 60.0]), 5)
    assert found.shape == (5, 2)
    np.testing.assert_allclose(found[-1], [40, 24])

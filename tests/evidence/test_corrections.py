"""
What the corrections promise: zero, head, conditions and air, each with its sign and its doubt.

Outside checks: hydrostatic head of 0.10 m of fuel of 835 kg/m3 is 0.819 kPa (arithmetic with
standard gravity); power factors at the reference air of ISO 1585, UN R85 and SAE J1349 are 1 by
definition (memory of the texts: this proves the coding only).
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from feedproof.case.run import Channel
from feedproof.evidence.air import full_load_fuel, power_factors
from feedproof.evidence.bins import bin_edges, bin_means, common_bins, local_linear
from feedproof.evidence.carried import carried_uncertainty, depression_corrected
from feedproof.evidence.corrections import (
    State,
    as_depression,
    depression_correction,
    return_correction,
    sensor_head,
    sensor_zero,
)
from feedproof.evidence.reduced import Doubt
from feedproof.evidence.shortfall import rail_shortfall
from feedproof.physics.power_correction import PowerStandard
from tests.evidence.evidence_sessions import reduced_run
from tests.evidence.run_logs import REFERENCE_K, Plan, make_case, make_run, sensitivity

CASE = make_case()
SPEED = np.linspace(15.0, 30.0, 8)


def state(warmer_k: float = 0.0, fuller: float = 0.0) -> State:
    return State(
        fuel_temperature_k=REFERENCE_K + warmer_k,
        fuel_level_fraction=0.6 + fuller,
        ambient_pressure_abs_pa=91000.0,
    )


def test_the_head_of_a_filled_line_is_that_of_hydrostatics() -> None:
    instrument = CASE.instruments["logger"]
    fuel = replace(CASE.fuels["summer"], density_15c_kg_per_m3=835.0)
    assert sensor_head(instrument, fuel, 288.15) == pytest.approx(819.0, abs=0.5)


def test_a_line_filled_with_air_has_no_head() -> None:
    instrument = replace(CASE.instruments["logger"], gauge_line_filled=False)
    assert sensor_head(instrument, CASE.fuels["summer"], 310.0) == 0.0


def test_the_zero_is_the_mean_and_a_large_change_is_flagged() -> None:
    assert sensor_zero(100.0, 140.0, 200.0, "run 1") == (120.0, ())
    zero, findings = sensor_zero(0.0, 300.0, 200.0, "run 1")
    assert zero == 150.0
    assert "300 Pa" in findings[0].message


@pytest.mark.parametrize("zeros", [(None, None), (100.0, None), (None, 100.0)])
def test_a_missing_zero_is_told(zeros: tuple[float | None, float | None]) -> None:
    assert sensor_zero(*zeros, 200.0, "run 1")[1]


def test_ambient_less_absolute_is_the_depression() -> None:
    found = as_depression(Channel.INLET_PRESSURE_ABS, np.array([80000.0]), 91000.0)
    assert found == pytest.approx([11000.0])
    with pytest.raises(ValueError, match="no inlet pressure"):
        as_depression(Channel.RAIL_PRESSURE, np.array([1.0]), 91000.0)


def test_at_reference_conditions_nothing_is_added_and_the_sensors_doubt_remains() -> None:
    found = depression_correction(sensitivity(), state(), CASE.reference, SPEED, "run 1")
    assert found.mean == 0.0
    assert found.standard_uncertainty == pytest.approx(math.hypot(180.0 * 0.5, 4900.0 * 0.02))


def test_a_warm_and_a_level_correction_of_unlike_sign_do_not_hide_each_others_doubt() -> None:
    apart = state(warmer_k=5.0, fuller=-0.18)
    found = depression_correction(sensitivity(), apart, CASE.reference, SPEED, "run 1")
    assert abs(found.mean) < 30.0
    # 900 Pa by temperature and 882 Pa by level, each known to 30 %, are independent: 378 Pa.
    assert found.standard_uncertainty > 0.3 * math.hypot(900.0, 882.0)


def test_a_slope_that_fades_is_carried_by_its_integral() -> None:
    """exp(c (T - T_ref)) from the run's temperature to the reference, by the closed form."""
    fading = replace(sensitivity(), slope_decay_per_k=-0.03)
    found = depression_correction(fading, state(6.0), CASE.reference, SPEED, "run 1")

    assert found.mean == pytest.approx(180.0 * (1.0 - math.exp(-0.18)) / 0.03)


def test_drift_of_the_temperature_along_the_order_costs_no_doubt() -> None:
    """
    What moves in a straight line with the order is taken for drift.

    By hand: ABAB weighs its runs -1/4, 3/4, -3/4, 1/4 with drift, so that 3, 2, 1, 0 of one cause
    cancel; -1/2, 1/2, -1/2, 1/2 without drift leave 1.
    """
    runs = [
        reduced_run(
            number + 1,
            letter,
            depression_correction_pa=100.0,
            depression_correction_u_pa=30.0,
            depression_doubts=(Doubt(cause="temperature", model_u=10.0 * step, sensor_u=0.0),),
        )
        for number, (letter, step) in enumerate(zip("ABAB", (3, 2, 1, 0), strict=True))
    ]
    with_drift = carried_uncertainty((-0.25, 0.75, -0.75, 0.25), runs, depression_corrected)
    without = carried_uncertainty((-0.5, 0.5, -0.5, 0.5), runs, depression_corrected)

    assert with_drift == pytest.approx(0.0, abs=1e-12)
    assert without == pytest.approx(10.0)


def test_without_derivatives_nothing_is_added_and_the_doubt_is_without_bound() -> None:
    found = depression_correction(None, state(6.0), CASE.reference, SPEED, "run 1")
    assert found.mean == 0.0
    assert math.isinf(found.standard_uncertainty)
    assert found.findings


def test_bins_beyond_the_derivatives_are_told() -> None:
    far = np.array([15.0, 45.0])
    assert depression_correction(sensitivity(), state(), CASE.reference, far, "run 1").findings


def test_a_warm_run_that_returned_less_is_credited_on_the_loss_scale() -> None:
    # Return falls by 0.06 % per kelvin: at 10 K warmer the loss is 0.6 too large.
    found = return_correction(sensitivity(), state(10.0), CASE.reference, "run 1")
    assert found.mean == pytest.approx(-0.6)


@pytest.mark.parametrize("standard", list(PowerStandard))
def test_at_reference_air_every_text_gives_a_factor_of_one(standard: PowerStandard) -> None:
    run = make_run(
        1,
        Plan(),
        ambient_pressure_abs_pa=99000.0,
        air_temperature_k=298.0,
        relative_humidity_fraction=0.0,
    )
    engine = CASE.vehicle.engine
    speeds = np.array([30.0, 45.0])
    found = power_factors(run, engine, speeds, full_load_fuel(engine, speeds), "run 1")
    assert found.factors[standard] == pytest.approx(1.0, abs=1e-12)
    assert not found.findings


def test_the_factor_rests_on_fuel_per_cycle_over_the_boost_ratio() -> None:
    # By hand at 30 rev/s: 4.115e-3 kg/s is 91.4 mg per litre and cycle, over 2.2 it is 41.56;
    # fm = 0.036 * 41.56 - 1.14 = 0.3563; fa = (99/90)^0.7 = 1.0690; fa^fm = 1.0240.
    run = make_run(
        1,
        Plan(),
        ambient_pressure_abs_pa=90000.0,
        air_temperature_k=298.0,
        relative_humidity_fraction=0.0,
    )
    engine, speed = CASE.vehicle.engine, np.array([30.0])
    found = power_factors(run, engine, speed, full_load_fuel(engine, speed), "run 1")
    assert found.factors[PowerStandard.ISO_1585] == pytest.approx([1.0240], abs=2e-4)


def test_thin_hot_air_leaves_the_limits_and_is_told() -> None:
    run = make_run(1, Plan(), ambient_pressure_abs_pa=70000.0, air_temperature_k=318.0)
    engine = CASE.vehicle.engine
    speeds = np.array([30.0, 45.0])
    found = power_factors(run, engine, speeds, full_load_fuel(engine, speeds), "run 1")
    text = " ".join(finding.message for finding in found.findings)
    assert "80 to 110 kPa" in text
    assert "283 to 313 K" in text


def test_the_fuel_of_full_load_is_power_times_specific_consumption() -> None:
    # 370 N m at 30 rev/s and 5.9e-8 kg/J: arithmetic.
    fuel = full_load_fuel(CASE.vehicle.engine, np.array([30.0]))
    assert fuel == pytest.approx([2.0 * math.pi * 30.0 * 370.0 * 5.9e-8])


def test_a_bin_cut_on_one_side_keeps_its_mean_on_a_slope() -> None:
    speed = np.linspace(10.0, 20.0, 400, endpoint=False)
    values = 100.0 * speed
    usable = np.ones(speed.size, dtype=np.bool_)
    usable[80:160] = False
    found = bin_means(speed, speed, values, usable, bin_edges(10.0, 20.0, 2))
    assert found.mean == pytest.approx([1250.0, 1750.0], abs=1e-6)
    assert list(found.used) == [120, 200]


def test_a_bin_with_four_samples_or_less_than_half_has_no_mean() -> None:
    speed = np.linspace(10.0, 20.0, 40, endpoint=False)
    usable = np.zeros(speed.size, dtype=np.bool_)
    usable[:4] = True
    usable[20:29] = True
    found = bin_means(speed, speed, speed, usable, bin_edges(10.0, 20.0, 2))
    assert np.isnan(found.mean).all()


def test_a_bin_shorter_than_one_pulsation_has_no_mean() -> None:
    speed = np.linspace(10.0, 20.0, 40, endpoint=False)
    usable = np.ones(speed.size, dtype=np.bool_)
    found = bin_means(speed / 100.0, speed, speed, usable, bin_edges(10.0, 20.0, 2), 0.07)
    assert np.isnan(found.mean).all()


def test_a_run_without_a_quarter_of_the_bins_is_given_up_rather_than_costing_all() -> None:
    full = np.ones(8)
    one_short = np.where(np.arange(8) == 2, np.nan, 1.0)
    ruined = np.where(np.arange(8) < 3, np.nan, 1.0)
    unmeasured = np.full(8, np.nan)
    common, given_up = common_bins({1: full, 2: one_short, 3: ruined, 4: unmeasured})
    assert given_up == (3,)
    assert list(np.flatnonzero(~common)) == [2]


def test_the_drawn_curve_leaves_a_straight_line_alone() -> None:
    speed = np.linspace(10.0, 30.0, 300)
    curve = local_linear(speed, 5.0 + 2.0 * speed, np.array([10.0, 20.0, 30.0]), 3.0)
    assert curve == pytest.approx([25.0, 45.0, 65.0])


def test_drawing_where_there_are_no_samples_gives_no_curve() -> None:
    speed = np.linspace(10.0, 20.0, 50)
    assert np.isnan(local_linear(speed, speed, np.array([40.0]), 3.0)).all()


def test_a_rail_that_never_falls_short_has_a_shortfall_of_nil() -> None:
    time_s = np.arange(0.0, 5.0, 0.02)
    found = rail_shortfall(time_s, np.full(time_s.size, -1e5), 5e6)
    assert found is not None
    assert (found.largest_pa, found.longest_s) == (0.0, 0.0)


def test_a_gap_breaks_the_time_below_demand() -> None:
    time_s = np.arange(0.0, 5.0, 0.02)
    deviation = np.full(time_s.size, 6e6)
    whole = rail_shortfall(time_s, deviation, 5e6)
    deviation[120:140] = np.nan
    broken = rail_shortfall(time_s, deviation, 5e6)
    assert whole is not None
    assert broken is not None
    assert whole.longest_s == pytest.approx(5.0)
    assert broken.longest_s == pytest.approx(2.4)

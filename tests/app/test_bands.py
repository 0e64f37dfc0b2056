"""Ranges of predictions: each ranged input is really moved, and the range holds the prediction."""

from dataclasses import replace

import numpy as np
import pytest

from feedproof.app.bands import influences, predict_band
from feedproof.app.predicting import predict_case
from feedproof.app.spread import combined_u_pa, with_value
from tests.records.documents import BRANCHED, reading_of


def test_every_ranged_value_of_line_kit_and_pump_finds_its_place(demo) -> None:
    for path, value in demo.case.values.items():
        if value.low is None or not path.startswith(("line[", "kit[", "vehicle.pump")):
            continue
        changed = with_value(demo.case, path, value, value.low)

        assert changed is not None, path
        assert changed != demo.case, path


def test_a_narrower_steel_line_moves_the_depression_up(demo) -> None:
    found = {each.path: each for each in influences(demo.case, (), demo.case.reference)}
    bore = found["line[steel_line].bore"]

    assert bore.low_pa > 0.0 > bore.high_pa


def test_influences_come_largest_first(demo) -> None:
    sizes = [
        each.standard_uncertainty_pa
        for each in influences(demo.case, ("secondary",), demo.case.reference)
    ]

    assert sizes == sorted(sizes, reverse=True)
    assert len(sizes) > 4


def test_the_range_holds_the_prediction_and_is_no_wider_than_its_parts(demo) -> None:
    prediction = predict_case(demo.case, kits=("secondary",))
    for each in prediction.configurations:
        top = each.pull.depression_pa[-1]
        u_pa = combined_u_pa(each.influences)
        transition = each.pull.depression_high_pa[-1] - each.pull.depression_low_pa[-1]

        assert each.depression_low_pa < top < each.depression_high_pa
        assert each.depression_high_pa - each.depression_low_pa == pytest.approx(
            transition + 4.0 * u_pa, rel=1e-6
        )


def test_without_ranges_only_the_transition_is_left(demo) -> None:
    case = replace(demo.case, values={})
    each = predict_case(case, kits=()).configurations[0]

    assert each.influences == ()
    assert each.depression_low_pa == pytest.approx(each.pull.depression_low_pa[-1])


def test_above_ambient_behind_a_lift_pump_the_range_is_as_wide_as_its_inputs(
    tmp_path,
) -> None:
    """A depression of zero or less is no reason to know it better."""
    case = reading_of(BRANCHED, tmp_path).case
    cold = replace(case.reference, fuel_temperature_k=293.15, fuel_level_fraction=1.0)
    centre, low, high = predict_band(case, (), np.array([case.pull.stop_m_per_s]), cold)
    widest = influences(case, (), cold)[0].standard_uncertainty_pa

    assert centre[0] <= 0.0
    assert widest > 100.0
    assert high[0] - low[0] >= 4.0 * widest

"""
The sampled inputs: where they go, how they are spread, and what is known of them in closed form.

A pump that takes the same flow whatever the line does draws it through a wide laminar pipe, whose
loss is 128 mu L Q/(pi d^4) (Hagen and Poiseuille): quantiles, probabilities and shares follow.
"""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import stats

from feedproof.app.sensitivity import sensitivity_case
from feedproof.app.sensitivity_inputs import RangedInput, inputs_of
from feedproof.app.sensitivity_places import find_places
from feedproof.app.sensitivity_result import InputSensitivity, RoomVerdict, Sensitivity
from feedproof.app.sensitivity_text import sensitivity_text
from feedproof.app.spread import with_value
from feedproof.case.case import Case
from feedproof.case.parts import Pipe
from feedproof.core.errors import InputError
from feedproof.feedline.plan import lower_fluid
from feedproof.physics.fuel_values import with_warm_viscosity
from tests.app.sensitivity_cases import (
    COLD,
    flow_of,
    limited,
    model_of,
    poiseuille_pa,
    ranged,
    stiff,
)
from tests.records.documents import BRANCHED, reading_of

LENGTH_M, BORE_M = 8.0, 0.012
LENGTH, BORE = "line[pipe].length", "line[pipe].bore"
PIPE = Pipe(id="pipe", length_m=LENGTH_M, bore_m=BORE_M)
LENGTHS = ranged(LENGTH_M, 6.0, 11.0)
BORES = ranged(BORE_M, 0.0105, 0.0125)


def asked(case: Case, samples: int = 256, seed: int = 1) -> Sensitivity:
    return sensitivity_case(case, kits=(), changes=COLD, samples=samples, seed=seed)


def input_of(found: Sensitivity, path: str) -> InputSensitivity:
    return next(each for each in found.configurations[0].inputs if each.path == path)


def interval_of(found: Sensitivity, quantity: str):
    return next(each for each in found.configurations[0].intervals if each.quantity == quantity)


def chained(case: Case, inputs: tuple[RangedInput, ...], sample: list[float]) -> Case:
    """Put values one after the other, as `with_value` does it."""
    for each, value in zip(inputs, sample, strict=True):
        changed = with_value(case, each.path, each.value, value)
        assert changed is not None, each.path
        case = changed
    return case


@pytest.mark.parametrize("kits", [(), ("secondary",)])
def test_values_put_all_at_once_are_those_put_one_by_one(demo, kits) -> None:
    inputs = inputs_of(demo.case, kits, "summer").varied
    places = find_places(demo.case, {i.path: (i.value, i.low, i.high) for i in inputs})
    assert len(inputs) > 7
    assert places.derived == ()
    for unit in np.random.default_rng(4).uniform(size=(5, len(inputs))):
        sample = [float(each.at(unit[[i]])[0]) for i, each in enumerate(inputs)]

        assert places.put(sample) == chained(demo.case, inputs, sample)
        assert places.put(sample) != demo.case


def test_values_of_a_branched_line_find_their_places_too(tmp_path: Path) -> None:
    case = reading_of(BRANCHED, tmp_path).case
    inputs = inputs_of(case, (), "summer").varied
    places = find_places(case, {i.path: (i.value, i.low, i.high) for i in inputs})
    sample = [0.3 * each.low + 0.7 * each.high for each in inputs]

    assert len(inputs) > 4
    assert places.put(sample) == chained(case, inputs, sample)


def test_a_range_that_moves_both_viscosities_of_a_grade_keeps_moving_both(demo) -> None:
    summer = replace(demo.case.fuels["summer"], grade="planted")
    warm = summer.viscosity_warm_m2_per_s
    value = ranged(warm, 0.8 * warm, 1.3 * warm)
    path = "fuel.summer.viscosity_40c"
    case = replace(demo.case, fuels={**demo.case.fuels, "summer": summer}, values={path: value})
    places = find_places(case, {path: (value, 0.8 * warm, 1.3 * warm)})

    assert places.derived == (0,)
    assert places.put([1.2 * warm]).fuels["summer"] == with_warm_viscosity(summer, 1.2 * warm)


def test_a_lopsided_range_is_spread_evenly_between_its_ends() -> None:
    each = RangedInput(path="x", value=ranged(3.0, 2.0, 10.0), low=2.0, high=10.0)

    assert each.at(np.array([0.0, 0.25, 0.5, 1.0])) == pytest.approx([2.0, 4.0, 6.0, 10.0])


def test_a_source_that_says_triangular_makes_a_triangle() -> None:
    """Against scipy.stats.triang."""
    value = ranged(3.0, 2.0, 10.0, "judged, triangular")
    each = RangedInput(path="x", value=value, low=2.0, high=10.0)
    unit = np.linspace(0.0, 1.0, 41)

    assert each.at(unit) == pytest.approx(stats.triang.ppf(unit, c=1 / 8, loc=2.0, scale=8.0))


def test_quantiles_of_one_evenly_spread_input_are_those_of_the_line(demo) -> None:
    """The room falls evenly with the length, so its quantiles are those of the length."""
    case = stiff(demo.case, (PIPE,), {LENGTH: LENGTHS})
    found = asked(case, 1024)
    room = interval_of(found, "room")
    per_m = poiseuille_pa(case, 1.0, BORE_M)
    width = 5.0 * per_m

    for got, length in ((room.low, 10.75), (room.median, 8.5), (room.high, 6.25)):
        assert got == pytest.approx(room.as_given - per_m * (length - LENGTH_M), abs=0.002 * width)


@pytest.mark.parametrize(
    ("length_m", "verdict"),
    [(12.0, RoomVerdict.HOLDS), (8.0, RoomVerdict.CANNOT_TELL), (5.0, RoomVerdict.BROKEN)],
)
def test_the_probability_of_a_used_up_room_is_that_of_the_length(demo, length_m, verdict) -> None:
    """The limit is set where a length uses all room; lengths are even from 6 to 11 m."""
    case = stiff(demo.case, (PIPE,), {LENGTH: LENGTHS})
    room = interval_of(asked(case, 16), "room").as_given
    spare = room - poiseuille_pa(case, length_m - LENGTH_M, BORE_M)
    (each,) = asked(limited(case, 40e3 + spare), 512).configurations
    truth = min(max((11.0 - length_m) / 5.0, 0.0), 1.0)

    assert each.below_zero_probability == pytest.approx(truth, abs=0.002)
    assert each.below_zero_low <= truth + 1e-12
    assert each.below_zero_high >= truth - 1e-12
    assert each.verdict is verdict


def test_a_probability_at_the_edge_of_telling_is_not_told(demo) -> None:
    """4.5 % below zero in 128 samples may as well be 8 %."""
    case = stiff(demo.case, (PIPE,), {LENGTH: LENGTHS})
    room = interval_of(asked(case, 16), "room").as_given
    spare = room - poiseuille_pa(case, 10.775 - LENGTH_M, BORE_M)
    few, many = (asked(limited(case, 40e3 + spare), n).configurations[0] for n in (64, 16384))

    assert few.below_zero_probability == pytest.approx(0.045, abs=0.01)
    assert few.verdict is RoomVerdict.CANNOT_TELL
    assert many.verdict is RoomVerdict.HOLDS


def _truth() -> dict[str, tuple[float, float]]:
    """Give first-order and total index of L and of d in L/d^4, both even in their ranges."""

    def power_mean(power: int) -> float:
        low, high = BORES.low, BORES.high
        return (low ** (1 - power) - high ** (1 - power)) / (power - 1) / (high - low)

    mean_length = (LENGTHS.low + LENGTHS.high) / 2
    var_length = (LENGTHS.high - LENGTHS.low) ** 2 / 12
    mean = power_mean(4)
    var = power_mean(8) - mean**2
    alone = (mean**2 * var_length, mean_length**2 * var)
    both = var_length * var
    whole = sum(alone) + both
    return {
        LENGTH: (alone[0] / whole, (alone[0] + both) / whole),
        BORE: (alone[1] / whole, (alone[1] + both) / whole),
    }


def test_intervals_of_the_shares_hold_the_closed_form(demo) -> None:
    case = stiff(demo.case, (PIPE,), {LENGTH: LENGTHS, BORE: BORES})
    held = []
    for seed in range(15):
        found = asked(case, 64, seed)
        for path, (first, total) in _truth().items():
            effect = input_of(found, path).effects[0]
            held.append(effect.first_low <= first <= effect.first_high)
            held.append(effect.total_low <= total <= effect.total_high)

    assert sum(held) / len(held) > 0.9


def test_derivatives_are_those_of_hagen_and_poiseuille(demo) -> None:
    case = stiff(demo.case, (PIPE,), {LENGTH: LENGTHS, BORE: BORES})
    found = asked(case, 16)
    loss = poiseuille_pa(case, LENGTH_M, BORE_M)
    length, bore = (input_of(found, path).effects[0] for path in (LENGTH, BORE))

    assert length.per_unit == pytest.approx(-loss / LENGTH_M, rel=1e-5)
    assert length.per_range == pytest.approx(-5.0 * loss / LENGTH_M, rel=1e-5)
    assert bore.per_unit == pytest.approx(4.0 * loss / BORE_M, rel=1e-4)
    assert bore.at_low == pytest.approx(loss * (1.0 - (BORE_M / 0.0105) ** 4), rel=1e-5)
    assert bore.at_high == pytest.approx(loss * (1.0 - (BORE_M / 0.0125) ** 4), rel=1e-5)


def test_a_value_at_the_end_of_its_range_is_differentiated_inside_it(demo) -> None:
    case = stiff(demo.case, (PIPE,), {LENGTH: replace(LENGTHS, low=None)})
    length = input_of(asked(case, 16), LENGTH)
    loss = poiseuille_pa(case, LENGTH_M, BORE_M)

    assert (length.low, length.high) == (LENGTH_M, 11.0)
    assert length.effects[0].per_unit == pytest.approx(-loss / LENGTH_M, rel=1e-5)


def test_a_ranged_limit_moves_the_room_and_nothing_else(demo) -> None:
    limit = ranged(40e3, 35e3, 45e3)
    case = stiff(demo.case, (PIPE,), {"vehicle.pump.maker_limit_abs": limit})
    found = asked(case)
    room, depression = input_of(found, "vehicle.pump.maker_limit_abs").effects[:2]

    assert room.per_unit == pytest.approx(-1.0)
    assert room.total == pytest.approx(1.0, abs=0.01)
    assert depression.at_high == 0.0
    assert np.isnan(depression.total)


def test_an_input_without_effect_has_no_share(demo) -> None:
    """A cloud point far below the fuel's temperature waxes nothing."""
    idle = "fuel.summer.cloud_point"
    summer = demo.case.fuels["summer"].cloud_point_k
    values = {LENGTH: LENGTHS, idle: ranged(summer, summer - 5.0, summer + 2.0)}
    found = asked(stiff(demo.case, (PIPE,), values))
    effect = input_of(found, idle).effects[0]

    assert (effect.first, effect.total, effect.total_high, effect.per_unit) == (0.0,) * 4
    assert input_of(found, LENGTH).effects[0].total == pytest.approx(1.0, abs=0.01)


def test_nothing_ranged_leaves_only_the_transition(demo: SimpleNamespace) -> None:
    """In a laminar line both edge rules agree, so nothing is left to share out."""
    found = asked(stiff(demo.case, (PIPE,), {}), 16)
    (each,) = found.configurations[0].inputs

    assert each.path == "friction_transition"
    assert np.isnan(each.effects[0].total)
    assert "Nothing that has a range moves the room." in sensitivity_text(found)


def test_a_range_that_cannot_be_placed_is_told(demo) -> None:
    path = "reference.fuel_temperature"
    case = stiff(demo.case, (PIPE,), {LENGTH: LENGTHS, path: ranged(308.15, 300.0, 315.0)})
    found = asked(case, 16)

    assert found.unplaced == (path,)
    assert [finding.place for finding in found.findings] == [path]
    assert path in sensitivity_text(found)


def test_ranges_of_other_kits_and_fuels_are_told_but_not_sampled(demo) -> None:
    found = sensitivity_case(demo.case, kits=("badly_plumbed",), samples=16)
    path = "kit[secondary].insertion[0].part[secondary_element].media_resistance"

    for each in found.configurations:
        assert each.elsewhere == (path,)
        assert path not in {one.path for one in each.inputs}
    assert "secondary_element.media_resistance" in sensitivity_text(found)


def test_a_sample_without_a_solution_is_named_with_what_is_wrong(demo) -> None:
    """A demand beyond the engine's full-load curve cannot be answered, so it is not left out."""
    case = stiff(demo.case, (PIPE,), {LENGTH: LENGTHS})
    faster = replace(case.pull, stop_m_per_s=3.0 * case.pull.stop_m_per_s)
    with pytest.raises(InputError) as fault:
        model_of(replace(case, pull=faster)).sampled(np.full((1, 2), 0.5))

    told = str(fault.value)
    assert "line[pipe].length = 8.5 (6 to 11)" in told
    assert "vehicle.engine.full_load" in told


def test_the_transition_is_spread_between_its_edge_rules(demo) -> None:
    """At Reynolds number 3000 half of the samples lie in the half of the edges."""
    bore = 0.0056
    case = stiff(demo.case, (replace(PIPE, bore_m=bore),), {})
    warm = 313.15
    fluid = lower_fluid(case.fuels[case.reference.fuel], warm)
    viscosity = fluid.dynamic_viscosity_pa_s / fluid.density_kg_per_m3
    assert 2400.0 < 4.0 * flow_of(case) / (np.pi * bore * viscosity) < 3900.0
    case = limited(case, 5e3)
    found = sensitivity_case(case, kits=(), changes={"fuel_temperature_k": warm}, samples=512)
    (each,) = found.configurations[0].inputs
    room = interval_of(found, "room")
    late, early = (room.as_given + end for end in (each.effects[0].at_low, each.effects[0].at_high))

    assert late > early + 100.0
    assert room.median == pytest.approx(0.5 * (late + early), abs=0.01 * (late - early))
    assert room.low == pytest.approx(early + 0.05 * (late - early), abs=0.01 * (late - early))
    assert room.inputs_low == room.inputs_high == room.as_given
    assert each.effects[0].total == pytest.approx(1.0, abs=0.01)


def test_the_order_of_the_document_plays_no_part(demo) -> None:
    case = stiff(demo.case, (PIPE,), {LENGTH: LENGTHS, BORE: BORES})
    turned = replace(case, values=dict(reversed(case.values.items())))

    assert list(turned.values) != list(case.values)
    # As text, since what nothing moves has indices that are not a number.
    assert repr(asked(case).configurations) == repr(asked(turned).configurations)


def test_shares_of_length_and_bore_are_those_of_the_closed_form(demo) -> None:
    found = asked(stiff(demo.case, (PIPE,), {LENGTH: LENGTHS, BORE: BORES}), 4096)

    for path, (first, total) in _truth().items():
        effect = input_of(found, path).effects[0]
        assert effect.first == pytest.approx(first, abs=0.006)
        assert effect.total == pytest.approx(total, abs=0.006)
    expected = sum(first for first, _ in _truth().values())
    assert interval_of(found, "room").first_sum == pytest.approx(expected, abs=0.01)


def test_the_planted_case_loses_what_hagen_and_poiseuille_say(demo) -> None:
    case = stiff(demo.case, (PIPE,), {LENGTH: LENGTHS, BORE: BORES})
    (found,) = asked(case, 16).configurations
    (part,) = found.parts

    assert part.loss_pa == pytest.approx(poiseuille_pa(case, LENGTH_M, BORE_M), rel=1e-6)

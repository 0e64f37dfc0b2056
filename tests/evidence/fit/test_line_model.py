"""
Promise: the line under parameters is the feed line itself, whichever way it is asked.

Sources: the case with its parts changed and lowered anew; the closed forms of `planted_line`.
"""

from dataclasses import replace

import numpy as np
import pytest

from feedproof.case.parts import Element, Orifice, Pipe
from feedproof.evidence.fit import line_kernel
from feedproof.evidence.fit.foreseen import Samples, foresee, range_of_tests
from feedproof.evidence.fit.groups import changed_case, changed_part
from feedproof.evidence.fit.line_model import Ask, LineModel, circuit_of
from feedproof.evidence.fit.parameters import Values
from feedproof.evidence.fit.runs_model import RunsModel
from feedproof.feedline.line_loss import part_loss
from feedproof.feedline.plan import lower_part
from tests.evidence.fit import planted_line as planted

NAMES = (
    "tank.height", "line.viscous", "line.inertial", "line.element", "kit.second.viscous",
    "kit.second.inertial", "pump.displacement", "pump.slip", "pump.half_pressure",
    "pump.softness", "pump.gas_release", "fuel.summer.viscosity", "element.fine.loading",
)  # fmt: skip


def gassy():
    """Give the planted case with a starved pump that draws gas, and an element that loads."""
    case = planted.case()
    pump = replace(
        case.vehicle.pump,
        inlet_half_pressure_abs_pa=60e3,
        inlet_softness_pa=8e3,
        gas_release_fraction=0.4,
    )
    kit = case.kits["second"]
    (insertion,) = kit.insertions
    parts = (replace(insertion.parts[0], loading_scale_kg=5e-3), insertion.parts[1])
    kit = replace(kit, insertions=(replace(insertion, parts=parts),))
    return replace(case, vehicle=replace(case.vehicle, pump=pump), kits={"second": kit})


def asks() -> list[Ask]:
    """Ask at several conditions, one with a loaded element and one on a slope."""
    speeds = np.linspace(20.0, 60.0, 5)
    made = []
    for kits, kelvin, held, pitch in (
        ((), 293.15, {}, 0.0),
        (("second",), 270.0, {"fine": 6e-3}, 0.0),
        (("second",), 330.0, {}, 0.2),
    ):
        conditions = replace(
            planted.conditions(kelvin), captured_mass_kg=held, road_pitch_rad=pitch
        )
        made.append(
            Ask(
                kits=kits,
                conditions=conditions,
                engine_speed_rev_per_s=speeds,
                load_fraction=np.linspace(0.2, 1.0, 5),
            )
        )
    return made


def drawn(count: int) -> Values:
    """Draw parameters far from what is described."""
    table = np.exp(0.3 * np.random.default_rng(3).normal(size=(count, len(NAMES))))
    table[:, 0] -= 1.0
    return Values(names=NAMES, table=table)


def test_one_compiled_call_is_the_changed_case_lowered_anew() -> None:
    case = gassy()
    model, values = LineModel(case, asks()), drawn(6)
    assert model.compiled
    found = model.states(values)
    for row in range(6):
        changed = changed_case(case, values.at(row))
        anew = np.concatenate(
            [
                circuit_of(changed, ask).at_many(ask.engine_speed_rev_per_s, wanted)
                for ask, wanted in zip(model.asks, model.injected, strict=True)
            ]
        )

        assert found[row] == pytest.approx(anew, rel=1e-9, abs=1e-12)


def test_every_parameter_of_the_list_moves_something() -> None:
    model = LineModel(gassy(), asks())
    ones = np.ones((1, len(NAMES)))
    ones[0, 0] = 0.0
    still = model.states(Values(names=NAMES, table=ones))
    for i, name in enumerate(NAMES):
        moved = ones.copy()
        moved[0, i] += 0.2

        assert not np.allclose(model.states(Values(names=NAMES, table=moved)), still), name


def test_the_plain_form_gives_what_the_compiled_one_gives(monkeypatch) -> None:
    model, values = LineModel(gassy(), asks()), drawn(2)
    compiled = model.states(values)
    plain = getattr(line_kernel.solve_asks, "py_func", line_kernel.solve_asks)
    monkeypatch.setattr("feedproof.evidence.fit.line_model.solve_asks", plain)

    assert model.states(values) == pytest.approx(compiled, rel=1e-10, abs=1e-13)


def test_a_line_that_is_marched_is_solved_by_the_changed_case() -> None:
    case = gassy()
    parts = list(case.vehicle.line.parts)
    parts[0] = replace(parts[0], collapse_depression_pa=5e3)
    case = replace(
        case, vehicle=replace(case.vehicle, line=replace(case.vehicle.line, parts=tuple(parts)))
    )
    model = LineModel(case, asks())
    found = model.states(drawn(2))

    assert not model.compiled
    assert np.isfinite(found).all()
    assert found[0, :, 1] != pytest.approx(found[1, :, 1])


def test_an_orifice_keeps_its_loss_when_it_becomes_a_fitting() -> None:
    plate = Orifice(id="plate", bore_m=3e-3, pipe_bore_m=8e-3, discharge_coefficient=0.62)
    fluid = LineModel(planted.case(), asks()).circuits[0].fluid
    whole, half = (
        part_loss(3e-5, lower_part(part), fluid, 0)
        for part in (changed_part(plate, 1.0, 1.0), changed_part(plate, 1.0, 0.5))
    )

    assert whole == pytest.approx(part_loss(3e-5, lower_part(plate), fluid, 0), rel=1e-12)
    assert half == pytest.approx(0.5 * whole, rel=1e-12)


def test_a_factor_on_a_pipe_multiplies_its_loss() -> None:
    pipe = Pipe(id="pipe", length_m=2.0, bore_m=8e-3)
    fluid = LineModel(planted.case(), asks()).circuits[0].fluid
    once, more = (
        part_loss(5e-5, lower_part(part), fluid, 0) for part in (pipe, changed_part(pipe, 1.3, 9.0))
    )

    assert more == pytest.approx(1.3 * once, rel=1e-12)


def test_prediction_intervals_hold_the_truth_at_conditions_that_were_not_run() -> None:
    """90 % intervals over 60 planted truths, warm runs only, cool line asked: 0.82 to 0.98."""
    from feedproof.evidence.fit.estimate import estimate
    from feedproof.evidence.fit.posterior import sample
    from feedproof.evidence.fit.scatter import Errors, covariance

    case, parameters = planted.case(), planted.parameters()
    errors = Errors(
        run_pa=250.0, setup_pa=0.0, point_pa=60.0, return_percent=1.0,
        return_common_percent=1e-6, model_share=0.0, temperature_k=0.0, level=0.0,
    )  # fmt: skip
    asked = replace(planted.conditions(293.15, 0.3), name="cool")
    inside, narrower = 0, 0.0
    for seed in range(60):
        rng = np.random.default_rng([31, seed])
        whitened = rng.normal(size=len(parameters))
        values = parameters.values(whitened[None]).at(0)
        runs = planted.runs(planted.WARM, values, rng, 250.0, 60.0, 1.0)
        model = RunsModel(case, runs, parameters)
        spread = covariance(model, errors)
        found = estimate(model.predicted, model.measured, spread, parameters)
        after = sample(model.predicted, model.measured, spread, found, draws=200, pilot=400)
        samples = Samples(
            parameters=parameters,
            before=rng.normal(size=(400, len(parameters))),
            after=after.whitened,
        )
        tested = range_of_tests(runs, np.array([1e-5, 1e-4]))
        (told,) = foresee(case, [("second", ("second",), asked)], samples, tested, {})
        truth = true_top(changed_case(case, values), asked)
        inside += told.fitted.low <= truth <= told.fitted.high
        narrower += told.fitted.width / told.unfitted.width / 60.0
        assert any("tested from 40 to 40" in text for text in told.beyond_tests)

    assert 0.82 <= inside / 60 <= 1.0
    assert narrower < 0.6


def true_top(case, conditions) -> float:
    """Give the true inlet pressure at the top of the pull."""
    from feedproof.feedline.pull import engine_speeds

    nowhere = np.empty(0)
    ask = Ask(kits=("second",), conditions=conditions, engine_speed_rev_per_s=nowhere,
              load_fraction=nowhere)  # fmt: skip
    circuit = circuit_of(case, ask)
    speed = engine_speeds(circuit, np.array([case.pull.stop_m_per_s]))
    return float(circuit.at_many(speed, circuit.full_load(speed)[1])[0, 2])


def test_what_lies_outside_the_tests_is_named() -> None:
    runs = planted.runs(planted.PLAN, planted.described(), None)
    tested = range_of_tests(runs, np.array([2e-5, 4e-5]))
    far = replace(
        planted.conditions(263.15),
        fuel="winter",
        ambient_pressure_abs_pa=70e3,
        captured_mass_kg={"fine": 2e-3},
    )
    parameters = planted.parameters()
    nothing = np.zeros((10, len(parameters)))
    samples = Samples(parameters=parameters, before=nothing, after=nothing)
    (told,) = foresee(planted.case(), [("second", ("second",), far)], samples, tested, {})
    words = " ".join(told.beyond_tests)

    for part in ("winter", "-10 °C", "70.0 kPa", "fine holding 2 g"):
        assert part in words


def test_a_part_of_every_kind_can_be_changed() -> None:
    element = Element(
        id="e", role="factory", media_resistance_per_m=1e9, face_area_m2=0.2,
        housing_inertial_per_m4=5e8, housing_viscous_per_m3=1e9, loading_scale_kg=4e-3,
    )  # fmt: skip
    changed = changed_part(element, 2.0, 3.0, 1.5)

    assert changed.media_resistance_per_m == 2e9
    assert changed.housing_viscous_per_m3 == 2e9
    assert changed.housing_inertial_per_m4 == 1.5e9
    assert changed.loading_scale_kg == pytest.approx(4e-3 / 1.5)

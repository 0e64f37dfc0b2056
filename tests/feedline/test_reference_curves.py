"""
The feed line reproduces the reference vehicle's curves, made by an independent script.

The curves are invented data: they check that the coupled equations are solved as described, with
the same friction rule.  Tolerance is the 1 % that was agreed, and in fact half a printed digit.
"""

import numpy as np
import pytest

from feedproof.feedline.line_loss import part_loss
from feedproof.feedline.pull import engine_speeds, predict_pull
from tests.feedline import reference

EXPECTED = reference.DATA["expected"]
KITS = {"OE": (), "K1": ("K1",), "K2": ("K2",), "K1K2": ("K1", "K2"), "K3": ("K3",)}


def _states(kits: tuple[str, ...], rule: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Solve the eight speeds of the table."""
    circuit = reference.circuit(*kits, rule=rule)
    speeds = engine_speeds(circuit, np.array(EXPECTED["v_kmh"]) / 3.6)
    power, injected = circuit.full_load(speeds)
    return circuit.at_many(speeds, injected), speeds, power


@pytest.mark.parametrize("name", KITS)
@pytest.mark.parametrize("rule", ["blend_blasius", "blend_colebrook"])
def test_depression_follows_the_reference_within_one_percent(name: str, rule: str) -> None:
    states, _, _ = _states(KITS[name], rule)

    assert states[:, 1] / 1e3 == pytest.approx(EXPECTED[f"D_{name}_kPa"], rel=0.01)


def test_depression_meets_the_printed_digits_with_the_same_friction_rule() -> None:
    for name, kits in KITS.items():
        states, _, _ = _states(kits, "blend_blasius")

        assert states[:, 1] / 1e3 == pytest.approx(EXPECTED[f"D_{name}_kPa"], abs=0.0051)


def test_speeds_power_and_flows_meet_the_printed_digits() -> None:
    states, speeds, power = _states((), "blend_blasius")

    assert 60.0 * speeds == pytest.approx(EXPECTED["n_rpm"], abs=0.51)
    assert power / 1e3 == pytest.approx(EXPECTED["Pe_kW"], abs=0.051)
    assert states[:, 3] / reference.L_PER_H == pytest.approx(EXPECTED["inj_L_h"], abs=0.051)
    assert states[:, 0] / reference.L_PER_H == pytest.approx(EXPECTED["feed_OE_L_h"], abs=0.051)
    assert states[:, 4] / reference.L_PER_H == pytest.approx(EXPECTED["ret_OE_L_h"], abs=0.051)


def test_return_with_two_fine_elements_meets_the_printed_digits() -> None:
    states, _, _ = _states(("K3",), "blend_blasius")

    assert states[:, 4] / reference.L_PER_H == pytest.approx(EXPECTED["ret_K3_L_h"], abs=0.051)


@pytest.mark.parametrize(("name", "kits"), [("OE", ()), ("K1K2", ("K1", "K2")), ("K3", ("K3",))])
def test_return_caught_over_the_pull_meets_the_printed_digits(
    name: str, kits: tuple[str, ...]
) -> None:
    pull = predict_pull(reference.circuit(*kits), reference.PULL, name)

    assert pull.return_caught_m3 * 1e6 == pytest.approx(EXPECTED["sweep_catch_mL"][name], abs=0.1)


def test_published_breakdown_by_part_is_met_at_the_stated_flow() -> None:
    """Loss by part at 3407 rpm, about 133 L/h; the sum 21.94 is printed too."""
    circuit = reference.circuit("K1", "K2")
    _, injected = circuit.full_load(np.array([3407.0 / 60.0]))
    state = circuit.at(3407.0 / 60.0, float(injected[0]))
    flow = state.feed_m3_per_s
    losses = {
        part.id: part_loss(flow, row, circuit.fluid, circuit.rule) / 1e3
        for part, row in zip(circuit.line.parts, circuit.rows, strict=True)
    }
    printed = {
        "strainer": 1.03,
        "pickup_tube": 0.40,
        "steel_line": 3.03,
        "rubber_hoses": 1.07,
        "quick_connectors": 1.64,
        "banjos": 3.23,
        "bends": 0.58,
        "primer_checks": 1.54,
        "oe_filter": 2.03,
        "K1_0": 0.57,
        "K2_0": 1.13,
    }

    assert {name: losses[name] for name in printed} == pytest.approx(printed, abs=0.011)
    assert losses["K1_1"] + losses["K1_2"] == pytest.approx(1.26, abs=0.011)
    assert losses["K2_1"] + losses["K2_2"] == pytest.approx(1.22, abs=0.011)
    assert circuit.static_pa / 1e3 == pytest.approx(3.22, abs=0.006)
    assert state.depression_pa / 1e3 == pytest.approx(21.94, abs=0.011)


def test_a_third_bore_is_noticed() -> None:
    """The check can fail: 2 % on the bore of the pipes leaves the agreed 1 %."""
    circuit = reference.circuit(bore_m=0.00784)
    speeds = engine_speeds(circuit, np.array(EXPECTED["v_kmh"]) / 3.6)
    _, injected = circuit.full_load(speeds)
    depression = circuit.at_many(speeds, injected)[:, 1] / 1e3

    assert np.max(np.abs(depression / EXPECTED["D_OE_kPa"] - 1.0)) > 0.01

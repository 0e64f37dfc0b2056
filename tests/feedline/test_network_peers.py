"""
A looped circuit agrees with general-purpose pipe network programs, EPANET and pandapipes.

Their answers were made by benchmarks/peers.py and are kept with inputs and versions.  Flow is
laminar, so the friction rules are the same formula.  What is left, and sets the tolerances:

* EPANET answers in single precision and takes 28.317 litres for a cubic foot (5e-6 of a flow);
* pandapipes adds its rough-wall term, here below 5e-5, to 64/Re.
"""

import hashlib
import json
from typing import Any

import pytest

from feedproof.case.line import Line
from feedproof.case.parts import Fitting, Part, Pipe
from feedproof.feedline.network import solve_drawn
from feedproof.feedline.network_plan import lower_network
from feedproof.feedline.plan import FluidPlan
from tests.feedline.network_cases import mass_residual
from tests.house.tree import ROOT

FOLDER = ROOT / "tests" / "published" / "peers"
# Greatest relative difference allowed: of a flow against the greatest flow, and of a pressure
# difference against the greatest one.
TOLERANCE = {"network_epanet": 2e-5, "network_pandapipes": 1e-4}
TANK_ABS_PA = 101325.0


def _document(name: str) -> dict[str, Any]:
    document: dict[str, Any] = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    return document


CASES = [
    pytest.param(name, case, id=f"{name}-{case['case']}")
    for name in TOLERANCE
    for case in _document(name)["cases"]
]


def _parts(case: dict[str, Any], tank: str) -> tuple[Part, ...]:
    """Make each pipe, followed by its minor loss as a fitting on the same bore."""
    parts: list[Part] = []
    for entry in case["pipes"]:
        first, second = (
            "tank" if node == tank else node for node in (entry["first"], entry["second"])
        )
        lossy = entry["minor_loss"] > 0.0
        parts.append(
            Pipe(
                id=entry["id"],
                length_m=entry["length_m"],
                bore_m=entry["bore_m"],
                from_node=first,
                to_node=None if lossy else second,
            )
        )
        if lossy:
            parts.append(
                Fitting(
                    id=f"{entry['id']}_minor",
                    count=1,
                    bore_m=entry["bore_m"],
                    laminar_coefficient=0.0,
                    turbulent_coefficient=entry["minor_loss"],
                    to_node=second,
                )
            )
    return tuple(parts)


@pytest.mark.parametrize("name", TOLERANCE)
def test_the_script_that_asked_the_peers_is_still_the_one_that_was_run(name: str) -> None:
    document = _document(name)
    script = ROOT / document["script"]

    # A failure says: run benchmarks/peers.py again and commit what it writes.
    assert hashlib.sha256(script.read_bytes()).hexdigest() == document["script_sha256"]


@pytest.mark.parametrize(("name", "case"), CASES)
def test_a_looped_circuit_agrees_with_the_peer(name: str, case: dict[str, Any]) -> None:
    document = _document(name)
    density = case["density_kg_per_m3"]
    viscosity = density * case["kinematic_viscosity_m2_per_s"]
    fluid = FluidPlan(density, viscosity, 1.0, 0.0, 0.0)
    drawn = case["draw_m3_per_s"]
    network = lower_network(Line(parts=_parts(case, document["tank"])), drawn=drawn)
    state = solve_drawn(network, drawn, fluid, tank_pressure_abs_pa=TANK_ABS_PA)

    assert state.exists
    assert len(network.nodes) >= 12
    assert len(network.links) > len(network.nodes)
    assert mass_residual(network, state, drawn) < 1e-10
    assert 300.0 < case["greatest_reynolds"] < 2000.0
    answer = case["answer"]
    flows, pressures = answer["flow_m3_per_s"], answer["pressure_difference_pa"]
    ours = {node: state.pressure_abs_pa[node] - TANK_ABS_PA for node in pressures}
    assert {pipe: state.flow_m3_per_s[pipe] for pipe in flows} == pytest.approx(
        flows, abs=TOLERANCE[name] * max(map(abs, flows.values()))
    )
    assert ours == pytest.approx(pressures, abs=TOLERANCE[name] * max(map(abs, pressures.values())))

"""Many points of a network in one call are refused where each of them is refused by itself."""

import math
from dataclasses import replace

import numpy as np
import pytest

from feedproof.case.line import Line
from feedproof.case.vehicle import Vehicle
from feedproof.core.errors import InputError
from feedproof.feedline.circuit import build_circuit
from feedproof.feedline.network import work_for
from feedproof.feedline.network_circuit import NetworkCircuit
from feedproof.feedline.network_plan import lower_network
from feedproof.feedline.network_settle import Hung, hung_on, settle
from feedproof.feedline.plan import lower_pump
from tests.feedline import reference
from tests.feedline.network_cases import (
    RECIRCULATION,
    check,
    feed_line,
    fluid,
    pipe,
    return_line,
    supply,
)

INJECTED = 2e-6
SPEEDS = np.linspace(8.0, 57.0, 12)
SOFT = {"collapse_depression_pa": 3e3, "collapse_span_pa": 3e3, "collapsed_bore_fraction": 0.6}
HANGING = {
    "nothing": (None, {}),
    "gas that comes out with time": (3.0, {}),
    "a soft hose": (None, SOFT),
}


def with_return(line: Line, tau: float | None, soft: dict[str, float]) -> NetworkCircuit:
    """Make the vehicle with lift pump, filters and bypass, with a return line."""
    body: Vehicle = reference.vehicle()
    parts = tuple(
        replace(part, **soft) if part.id == "hose_out" else part for part in feed_line().parts
    )
    body = replace(
        body,
        line=Line(parts=parts),
        return_line=line,
        recirculation=RECIRCULATION,
        pump=replace(body.pump, gas_release_time_s=tau),
    )
    at = reference.conditions(20.0)
    circuit = build_circuit(body, body.line, reference.fuel_of(at.fuel), at, "blend_colebrook")
    assert isinstance(circuit, NetworkCircuit)
    return circuit


@pytest.mark.parametrize("what", HANGING)
def test_a_return_that_is_shut_off_is_refused_for_many_points_as_for_one(what: str) -> None:
    """The pump presses its return even through a shut valve, so that the flow looks like any."""
    turned = Line(parts=(*return_line().parts[:-1], check("holding_valve", "tank", "holding")))
    circuit = with_return(turned, *HANGING[what])
    whole = with_return(return_line(), *HANGING[what])

    for speed in SPEEDS:
        with pytest.raises(InputError, match="parts return from the tank") as one:
            circuit.at(float(speed), INJECTED)
        with pytest.raises(InputError) as many:
            circuit.at_many(np.array([speed]), np.array([INJECTED]))
        assert str(many.value) == str(one.value)
    assert np.all(np.isfinite(whole.at_many(SPEEDS, np.full(SPEEDS.size, INJECTED))))


def test_a_loss_that_is_no_number_is_not_taken_for_settled() -> None:
    line = Line(
        parts=(
            pipe("stem", None, "split"),
            pipe("straight", "split", "inlet"),
            pipe("side", "split", "inlet"),
        )
    )
    network = lower_network(line)
    fluids = np.array((fluid(), fluid()))
    pump = lower_pump(reference.pump_of("new"))
    steps = []
    for bore_m in (0.006, math.nan):
        tees = np.array([[0.0, 1.0, 2.0, -1.0, 1.0, 1.0, bore_m]])
        hung: Hung = hung_on(network.links, (), ())._replace(tees=tees)
        found, _ = settle(work_for(network), network.plan, hung, fluids, pump, supply(), 0)
        steps.append(found)

    assert steps[0] > 0
    assert steps[1] <= 0

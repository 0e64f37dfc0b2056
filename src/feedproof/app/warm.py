"""Compile the hot formulas once, during set-up, so that the first prediction does not wait."""

import sys
from dataclasses import replace

import numpy as np

from feedproof.app.api import PACKAGED_DEMO
from feedproof.app.what_if import prepared_case
from feedproof.app.what_if_asked import WhatIf
from feedproof.case.fuel import Fuel
from feedproof.case.line import Line
from feedproof.case.parts import Pipe
from feedproof.case.vehicle import Pump, Topology
from feedproof.core.compiled import engine
from feedproof.feedline.circuit import build_circuit
from feedproof.feedline.plan import lower_fluid, lower_pump, lower_rows, merge_rows
from feedproof.feedline.solve import operating_point, operating_points
from feedproof.feedline.surroundings import Demand, Surroundings
from feedproof.kits.life_samples import follow_samples
from feedproof.records.folder import CaseFolder


def warm() -> None:
    """Call every top formula once with numbers of the kinds that it will meet."""
    fuel = Fuel(
        name="warm",
        density_15c_kg_per_m3=835.0,
        expansion_per_k=8.3e-4,
        viscosity_cool_m2_per_s=4.5e-6,
        viscosity_warm_m2_per_s=2.8e-6,
        temperature_cool_k=293.15,
        temperature_warm_k=313.15,
        cloud_point_k=270.0,
        cfpp_k=264.0,
        ostwald_air=0.13,
        vapour_pressure_20c_abs_pa=100.0,
    )
    pump = lower_pump(
        Pump(
            topology=Topology.OVERFLOW_TO_TANK,
            displacement_m3_per_rev=1.4e-6,
            speed_ratio=0.5,
            filling_fraction=0.95,
            slip_m3_per_s=8e-7,
            slip_viscosity_pa_s=2.4e-3,
            feed_pressure_regulated_pa=6e5,
            inlet_half_pressure_abs_pa=2e4,
            inlet_softness_pa=4e3,
            port_loss_pa=900.0,
            port_loss_speed_rev_per_s=28.0,
            gas_release_fraction=0.35,
            backleak_rated_m3_per_s=2.5e-6,
            lubrication_m3_per_s=4e-6,
        )
    )
    line = merge_rows(lower_rows(Line(parts=(Pipe(id="p", length_m=1.0, bore_m=0.008),)), {}))
    fluid = lower_fluid(fuel, 300.0)
    around = Surroundings(3e3, 101325.0, 101325.0, 300.0)
    operating_point(line, around, pump, fluid, Demand(25.0, 8e-6, 2e-6), 0)
    ones = np.ones(2)
    operating_points(line, around, pump, fluid, 25.0 * ones, 8e-6 * ones, 2e-6 * ones, 0)
    _follow_one_vehicle()
    _answer_one_question()


def warm_networks() -> None:
    """Compile what the first branched line would otherwise wait for; few lines have branches."""
    case = CaseFolder.open(PACKAGED_DEMO).load().case
    first, *rest = case.vehicle.line.parts
    # A named node makes a network of a chain.
    line = Line(parts=(replace(first, to_node="named"), *rest))
    fuel = case.fuels[case.reference.fuel]
    circuit = build_circuit(case.vehicle, line, fuel, case.reference, case.friction_rule)
    speeds = np.array([30.0])
    circuit.at_many(speeds, circuit.full_load(speeds)[1])
    circuit.legs(circuit.at(30.0, 8e-6))


def _answer_one_question() -> None:
    """Compile what the first slider of a page would otherwise wait for."""
    prepared_case(PACKAGED_DEMO).answer(WhatIf(kits=("secondary",)))


def _follow_one_vehicle() -> None:
    """Compile what the verbs about service and protection ask for."""
    one = np.ones(1)
    follow_samples(
        1e-3 * one,
        2e-5 * one,
        3e-6 * one,
        1e-7 * one,
        np.full((1, 1), 0.02),
        one,
        0.0 * one,
        0.5 * one,
        np.full((1, 1), 0.5),
        1e9 * one,
        np.zeros(1, dtype=np.int64),
        np.array([0.02, 0.08]),
        1e12,
        np.array([0.0, 1e6]),
    )


if __name__ == "__main__":
    warm()
    if "networks" in sys.argv[1:]:
        warm_networks()
    print(f"formulas are {engine()}", file=sys.stderr)

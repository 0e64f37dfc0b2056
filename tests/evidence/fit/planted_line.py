"""
Runs of an invented line whose laws have closed forms, written down here without the package.

A laminar pipe (Hagen-Poiseuille), fittings K1/Re + K, media, and a pump without gas and with all
its filling: the feed is displacement less slip whatever the depression, so nothing is to be solved.
Fuel is at 20 or 40 degC, where its viscosity is given and no law of viscosity is needed.
"""

import math
from dataclasses import dataclass, replace
from datetime import UTC, datetime

import numpy as np

from feedproof.case.case import Case, Pull
from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Insertion, Kit, Line
from feedproof.case.margin import Margins
from feedproof.case.parts import Element, Fitting, Pipe
from feedproof.case.vehicle import Pump, Tank
from feedproof.evidence.fit.parameters import Parameter, Parameters
from feedproof.evidence.fit.runs_model import FitRun
from tests.feedline import reference

L_PER_H = 1e-3 / 3600.0
NU = {293.15: 4.8e-6, 313.15: 2.95e-6}
RHO_15, EXPANSION = 838.0, 8.3e-4
PIPE_M, PIPE_BORE_M = 5.0, 0.010
K1, K_TURBULENT, FITTING_BORE_M, FITTINGS = 400.0, 3.0, 0.0065, 4
MEDIA_PER_M, FACE_M2 = 2.5e9, 0.22
KIT_MEDIA_PER_M, KIT_FACE_M2, KIT_K, KIT_BORE_M, KIT_FITTINGS = 3.2e9, 0.30, 2.0, 0.006, 4
FULL_M, EMPTY_M = 0.15, 0.75
DISPLACEMENT_M3, SPEED_RATIO, SLIP_M3_PER_S, SLIP_MU = 1.45e-6, 0.5, 3.2 * L_PER_H, 2.42e-3
AIR_PA, SPEEDS = 95e3, np.linspace(25.0, 55.0, 8)
BACKLEAK = 9.0 * L_PER_H
SD = {
    "gauge": ("Pa", 200.0),
    "tank.height": ("m", 0.03),
    "line.viscous": ("factor", 0.10),
    "line.inertial": ("factor", 0.30),
    "line.element": ("factor", 0.15),
    "kit.second.viscous": ("factor", 0.15),
    "kit.second.inertial": ("factor", 0.30),
    "pump.displacement": ("factor", 0.03),
    "pump.slip": ("factor", 0.20),
    "fuel.summer.viscosity": ("factor", 0.05),
    "fuel.winter.viscosity": ("factor", 0.05),
}


def parameters(**changes: float) -> Parameters:
    """Give the parameters with their priors."""
    return Parameters(
        each=tuple(
            Parameter(
                name=name,
                meaning=name,
                unit=unit,
                standard_deviation=changes.get(name.replace(".", "_"), sd),
                source="planted",
            )
            for name, (unit, sd) in SD.items()
        )
    )


def case() -> Case:
    """Describe the line as it is believed to be."""
    body = reference.vehicle()
    fuel = Fuel(
        name="summer",
        density_15c_kg_per_m3=RHO_15,
        expansion_per_k=EXPANSION,
        viscosity_cool_m2_per_s=NU[293.15],
        viscosity_warm_m2_per_s=NU[313.15],
        temperature_cool_k=293.15,
        temperature_warm_k=313.15,
        cloud_point_k=270.0,
        cfpp_k=264.0,
        ostwald_air=0.13,
        vapour_pressure_20c_abs_pa=100.0,
    )
    pump = replace(
        body.pump,
        displacement_m3_per_rev=DISPLACEMENT_M3,
        speed_ratio=SPEED_RATIO,
        filling_fraction=1.0,
        slip_m3_per_s=SLIP_M3_PER_S,
        slip_viscosity_pa_s=SLIP_MU,
        inlet_half_pressure_abs_pa=1.0,
        inlet_softness_pa=500.0,
        port_loss_pa=0.0,
        gas_release_fraction=0.0,
        gas_release_time_s=None,
        backleak_rated_m3_per_s=BACKLEAK,
    )
    assert isinstance(pump, Pump)
    line = Line(
        parts=(
            Pipe(id="tube", length_m=PIPE_M, bore_m=PIPE_BORE_M),
            Fitting(
                id="banjos",
                count=FITTINGS,
                bore_m=FITTING_BORE_M,
                laminar_coefficient=K1,
                turbulent_coefficient=K_TURBULENT,
            ),
            Element(
                id="filter",
                role="factory",
                media_resistance_per_m=MEDIA_PER_M,
                face_area_m2=FACE_M2,
                housing_inertial_per_m4=0.0,
            ),
        )
    )
    parts = (
        Element(
            id="fine",
            role="secondary",
            media_resistance_per_m=KIT_MEDIA_PER_M,
            face_area_m2=KIT_FACE_M2,
            housing_inertial_per_m4=0.0,
        ),
        Fitting(
            id="tails",
            count=KIT_FITTINGS,
            bore_m=KIT_BORE_M,
            laminar_coefficient=0.0,
            turbulent_coefficient=KIT_K,
        ),
    )
    kit = Kit(
        id="second",
        title="second filter",
        insertions=(Insertion(place="filter", side="after", parts=parts),),
    )
    tank = Tank(capacity_m3=0.09, inlet_above_full_m=FULL_M, inlet_above_empty_m=EMPTY_M)
    return Case(
        title="planted",
        note="",
        vehicle=replace(body, line=line, pump=pump, tank=tank, return_line=Line(parts=())),
        fuels={"summer": fuel, "winter": replace(fuel, name="winter")},
        kits={"second": kit},
        pull=Pull(start_m_per_s=15.0, stop_m_per_s=32.0, rate_m_per_s2=1.25),
        reference=conditions(313.15),
        worst=(),
        margins=Margins(declared=datetime(2026, 1, 1, tzinfo=UTC)),
        repeatability={},
        instruments={},
        runs=(),
    )


def conditions(temperature_k: float, level: float = 0.6) -> Conditions:
    """Give conditions of a run."""
    return Conditions(
        fuel="summer",
        fuel_temperature_k=temperature_k,
        ambient_pressure_abs_pa=AIR_PA,
        fuel_level_fraction=level,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """One run that is driven."""

    kit: bool
    temperature_k: float
    level: float
    session: str


PLAN = tuple(
    Planned(kit=letter == "B", temperature_k=t, level=0.8 - 0.02 * i, session=name)
    for name, t in (("cool", 293.15), ("warm", 313.15))
    for i, letter in enumerate("ABBAAB")
)
WARM = tuple(one for one in PLAN if one.session == "warm")


def truth(one: Planned, value: dict[str, float]) -> tuple[np.ndarray, float]:
    """Give the true depression over the speeds, and the return of a hold at 50 rev/s."""
    rho = RHO_15 * (1.0 - EXPANSION * (one.temperature_k - 288.15))
    mu = NU[one.temperature_k] * value["fuel.summer.viscosity"] * rho
    slip = SLIP_M3_PER_S * value["pump.slip"] * SLIP_MU / mu
    q = DISPLACEMENT_M3 * value["pump.displacement"] * SPEED_RATIO * SPEEDS - slip
    lift = EMPTY_M + one.level * (FULL_M - EMPTY_M) + value["tank.height"]
    poiseuille = 128.0 * mu * PIPE_M * q / (math.pi * PIPE_BORE_M**4)
    v = q / (math.pi * FITTING_BORE_M**2 / 4.0)
    reynolds = rho * v * FITTING_BORE_M / mu
    head = rho * v * v / 2.0
    lost = value["line.viscous"] * (poiseuille + FITTINGS * K1 / reynolds * head)
    lost = lost + value["line.inertial"] * FITTINGS * K_TURBULENT * head
    lost = lost + value["line.element"] * mu * MEDIA_PER_M / FACE_M2 * q
    if one.kit:
        v = q / (math.pi * KIT_BORE_M**2 / 4.0)
        lost = lost + value["kit.second.viscous"] * mu * KIT_MEDIA_PER_M / KIT_FACE_M2 * q
        lost = lost + value["kit.second.inertial"] * KIT_FITTINGS * KIT_K * rho * v * v / 2.0
    hold = DISPLACEMENT_M3 * value["pump.displacement"] * SPEED_RATIO * 50.0 - slip
    back = (hold - burnt(rho)) * rho / RHO_15
    return lost + rho * 9.80665 * lift, back


def burnt(rho: float) -> float:
    """Give the fuel of a hold without load: 12 % of full load's, from the engine's own table."""
    engine = reference.vehicle().engine
    torque = np.interp(50.0, engine.speed_rev_per_s, engine.torque_nm)
    rate = np.interp(50.0, engine.speed_rev_per_s, engine.specific_consumption_kg_per_j)
    return float(0.12 * torque * 2.0 * math.pi * 50.0 * rate / rho)


def runs(
    plan: tuple[Planned, ...], value: dict[str, float], rng: np.random.Generator | None,
    run_pa: float = 0.0, point_pa: float = 0.0, return_percent: float = 0.0,
) -> tuple[FitRun, ...]:  # fmt: skip
    """Drive the plan: the truth with errors of runs, points and catches."""
    made = []
    for number, one in enumerate(plan, start=1):
        depression, back = truth(one, value)
        draws = np.zeros(SPEEDS.size + 2) if rng is None else rng.normal(size=SPEEDS.size + 2)
        read = depression + value["gauge"] + run_pa * draws[0] + point_pa * draws[2:]
        made.append(
            FitRun(
                number=number,
                session=one.session,
                setup=one.session,
                configuration="second" if one.kit else "baseline",
                kits=("second",) if one.kit else (),
                conditions=conditions(one.temperature_k, one.level),
                engine_speed_rev_per_s=SPEEDS,
                depression_pa=read,
                bins=np.arange(SPEEDS.size),
                return_m3_per_s=back * math.exp(return_percent * draws[1] / 100.0),
                return_speed_rev_per_s=np.array([50.0]),
            )
        )
    return tuple(made)


def described() -> dict[str, float]:
    """Give the values of a line that is as described."""
    return {name: 1.0 if unit == "factor" else 0.0 for name, (unit, _) in SD.items()}

"""How each row of pipe flow is computed by the project."""

import math

from feedproof.core import units
from feedproof.physics import crane, entrance, fittings, friction, kinematics, losses, orifice
from tests.published.rows import Result, Runner

BLEND = friction.RULE_BLEND_COLEBROOK
EARLY = friction.RULE_TURBULENT_EARLY


def line(
    bore_mm: float,
    length_m: float,
    flow_l_h: float,
    density: float,
    nu_mm2_s: float,
    *,
    roughness_um: float = 0.0,
    coefficient: float = 0.0,
    rule: int = BLEND,
) -> float:
    """Lose pressure in a straight line and a sum of coefficients."""
    flow = units.to_si(flow_l_h, "L/h")
    bore = bore_mm * 1e-3
    pipe = losses.pipe_pressure_loss(
        flow, length_m, bore, roughness_um * 1e-6, density, nu_mm2_s * 1e-6 * density, rule
    )
    return pipe + fittings.coefficient_pressure_loss(flow, bore, coefficient, density)


def colebrook(reynolds: float, relative_roughness: float) -> Runner:
    """Wait to solve Colebrook's equation."""
    return lambda: friction.colebrook_friction_factor(reynolds, relative_roughness)


def churchill(reynolds: float, relative_roughness: float) -> Runner:
    """Wait to use Churchill's formula."""
    return lambda: friction.churchill_friction_factor(reynolds, relative_roughness)


def apparent(dimensionless_length: float) -> Runner:
    """Wait to use Shah and London's formula."""
    return lambda: losses.laminar_apparent_friction_product(dimensionless_length)


def plate(bore: float, pipe: float, dp: float, density: float, mu: float, eps: float) -> float:
    """Solve the mass flow through a plate with D and D/2 taps, since C depends on it."""
    mass_flow = 1.0
    for _ in range(60):
        reynolds = losses.reynolds_number(mass_flow / density, pipe, mu / density)
        c = orifice.orifice_discharge_coefficient(
            bore / pipe, reynolds, pipe, orifice.TAPS_D_AND_HALF_D
        )
        mass_flow = orifice.orifice_mass_flow(bore, pipe, dp, density, c, eps)
    return mass_flow


def air_coefficient(taps: int) -> Runner:
    """Wait to give the coefficient of the library's air orifice."""

    def run() -> Result:
        reynolds = losses.reynolds_number(
            0.124431876 / 1.1645909036, 0.07391, 1.85861753095e-5 / 1.1645909036
        )
        return orifice.orifice_discharge_coefficient(0.0222 / 0.07391, reynolds, 0.07391, taps)

    return run


def crane_7_2() -> Result:
    """Give coefficient, length in bores and length of a valve with Kv 500."""
    kv = 500.0 / 3600.0 / math.sqrt(1e5)
    k = fittings.valve_loss_coefficient(kv, 0.154)
    return k, k / 0.015, k / 0.015 * 0.154


CRANE_7_8_FLOW_M3_PER_S = 600 * 0.158987294928 / 3600.0


def crane_7_8() -> Result:
    """Lose pressure in 60 m of pipe and a globe valve, oil."""
    pipe = losses.pipe_pressure_loss(CRANE_7_8_FLOW_M3_PER_S, 60, 0.20274, 0, 869.2, 0.130, BLEND)
    k = 340 * 0.014
    return pipe + fittings.coefficient_pressure_loss(CRANE_7_8_FLOW_M3_PER_S, 0.20274, k, 869.2)


CRANE_7_13_FLOW_M3_PER_S = 2 * 3.785411784e-3
CRANE_7_13_DENSITY = 0.815 * 999.1


def crane_7_13_book() -> Result:
    """Lose pressure in 100 ft of 2 in pipe with the book's friction factor."""
    k = 0.0230 * 30.48 / 0.05248
    return fittings.coefficient_pressure_loss(
        CRANE_7_13_FLOW_M3_PER_S, 0.05248, k, CRANE_7_13_DENSITY
    )


def crane_7_13_colebrook() -> Result:
    """Lose pressure in 100 ft of 2 in pipe with Colebrook's factor."""
    mu = 2.7e-6 * CRANE_7_13_DENSITY
    roughness = 0.0018 * 0.0254
    return losses.pipe_pressure_loss(
        CRANE_7_13_FLOW_M3_PER_S, 30.48, 0.05248, roughness, CRANE_7_13_DENSITY, mu, BLEND
    )


def crane_7_23() -> Result:
    """Give flow coefficient and flow of a 2 in plate from a mercury column under water."""
    pipe, bore = 4.026 * 0.0254, 2 * 0.0254
    dp = 4.4 * 0.0254 * 9.80665 * (13595.1 - 999.0)
    flow = plate(bore, pipe, dp, 999.0, 1.1e-3, 1.0) / 999.0
    area = math.pi / 4 * bore * bore
    return flow / (area * math.sqrt(2 * dp / 999.0)), units.from_si(flow, "m^3/s") / 6.30901964e-5


FOOT_M = 0.3048
CRANE_PRINTED_RATIOS = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 20.0)
# K90 over the friction factor at r/d of 2.0/0.402 by the polynomial of the fluids library.
LIBRARY_BEND_FACTOR = 15.298859469680309


def crane_bend(factor: float | None = None) -> Result:
    """Give the coefficient of a 30 degree bend, radius 2 m in a pipe of 402 mm."""
    ratio = 2.0 / 0.402
    k90 = crane.crane_bend_factor(ratio) if factor is None else factor
    f_t = crane.crane_friction_factor(0.402)
    return crane.crane_bend_coefficient(f_t, k90, ratio, math.pi / 6)


def pumped_line_losses(
    flow: float, length: float, bore: float, density: float, mu: float, coefficient: float
) -> float:
    """Give what a line of steel pipe (0.0022 in) loses, in feet of its liquid."""
    pipe = losses.pipe_pressure_loss(flow, length, bore, 0.0022 * 0.0254, density, mu, BLEND)
    lost = pipe + fittings.coefficient_pressure_loss(flow, bore, coefficient, density)
    return lost / kinematics.head_pressure(density, FOOT_M)


def crane_7_15_losses() -> float:
    """Give the losses of the book's water line with its valves and elbows, in feet."""
    bore, narrow = 77.92e-3, 62.68e-3
    f_t = crane.crane_friction_factor(bore)
    ratio = narrow / bore
    step = 1.0 - ratio**2
    check = (600.0 * f_t + ratio * (0.5 * step + step**2)) / ratio**4
    k = 1.0 + 8.0 * f_t + 4 * 30.0 * f_t + check
    flow = 100.0 * 3.785411784e-3 / 60.0
    return pumped_line_losses(flow, 500 * FOOT_M, bore, 62.298 * POUND_PER_CUBIC_FOOT, 0.95e-3, k)


def crane_7_17_losses() -> float:
    """Give the losses of the book's crude oil line, in feet."""
    flow = 1900 * 0.158987294928 / 3600.0
    density = 54.64 * POUND_PER_CUBIC_FOOT
    return pumped_line_losses(flow, 50 * 1609.344, 0.30704, density, 12.5e-3, 0.0)


POUND_PER_CUBIC_FOOT = 0.45359237 / FOOT_M**3

RUNNERS: dict[str, Runner] = {
    "A001": lambda: friction.laminar_friction_factor(128.0),
    "A002": lambda: friction.friction_factor(1000.0, 0.0, BLEND),
    "A003": lambda: friction.laminar_friction_factor(
        losses.reynolds_number(units.to_si(120.0, "L/h"), 8e-3, 3e-6)
    ),
    "A004": colebrook(1e5, 1e-4),
    "A005": colebrook(1e5, 0.0),
    "A006": lambda: friction.friction_factor(1e4, 0.0, BLEND),
    "A008": colebrook(4e3, 0.0),
    "A010": colebrook(1e4, 1e-3),
    "A011": colebrook(1e5, 1e-3),
    "A012": colebrook(1e6, 1e-3),
    "A013": colebrook(1e6, 1e-4),
    "A014": colebrook(1e7, 1e-5),
    "A016": colebrook(3e3, 0.0),
    "A017": colebrook(2040.0, 0.0),
    "A018": churchill(1e5, 1e-4),
    "A019": churchill(1e3, 1e-4),
    "A020": churchill(3e3, 1e-4),
    "A022": churchill(1e6, 1e-3),
    "A023": lambda: friction.haaland_friction_factor(1e5, 1e-4),
    "A025": lambda: friction.blasius_friction_factor(1e5),
    "A026": lambda: friction.friction_factor(1e5, 0.0, BLEND),
    "A027": lambda: friction.friction_factor(1e8, 0.05, BLEND),
    "A028": lambda: losses.pipe_pressure_loss(0.01, 1.0, 0.1, 0.0, 1000.0, 1e-5, BLEND),
    "A029": lambda: line(8, 2, 120, 835, 3),
    "A030": lambda: line(8, 2, 120, 850, 10, coefficient=3.0),
    # Inside the transition the library is turbulent: the upper edge is.
    "A032": lambda: line(10, 4, 250, 835, 3, roughness_um=1.5, rule=EARLY),
    "A033": lambda: line(6.5, 1, 400, 820, 2, roughness_um=1.5),
    "A034": lambda: line(8, 5, 600, 820, 1.2, roughness_um=1.5),
    "A035": lambda: line(6, 0.5, 60, 880, 60),
    "A037": lambda: line(6, 3, 20, 830, 2.2) / line(8, 3, 20, 830, 2.2),
    "A038": lambda: losses.laminar_pipe_resistance(2.0, 8e-3, 2.505e-3) * units.to_si(120.0, "L/h"),
    "A039": apparent(0.001),
    "A040": apparent(0.01),
    "A041": apparent(0.05),
    "A042": apparent(0.1),
    "A043": lambda: 4 * 100.0 * (losses.laminar_apparent_friction_product(100.0) - 16.0),
    "A044": lambda: entrance.laminar_entrance_length(1.0, 1000.0),
    "A044C": lambda: entrance.laminar_entrance_length(8e-3, 1900.0),
    "A045": lambda: fittings.sudden_contraction_coefficient(1e6, 1.0),
    "A046": lambda: fittings.rennels_contraction_coefficient(1e6, 1.0),
    "A047": lambda: fittings.sudden_expansion_coefficient(1.0, 1e6),
    "A048": lambda: fittings.sudden_expansion_coefficient(0.5, 1.0),
    "A049": lambda: fittings.laminar_expansion_coefficient(0.5, 1.0),
    "A051": lambda: fittings.sudden_contraction_coefficient(3.0, 2.0),
    "A052": lambda: fittings.rebase_coefficient(
        fittings.sudden_contraction_coefficient(3.0, 2.0), 2.0, 3.0
    ),
    "A053": lambda: fittings.rennels_contraction_coefficient(1.0, 0.4),
    "A055": lambda: fittings.rebase_coefficient(32.68875692997804, 0.01, 0.02),
    "A056": lambda: fittings.two_k_coefficient(1e4, 1500.0, 4.0, 0.0508, True),
    "A057": lambda: fittings.two_k_coefficient(1e4, 900.0, 4.0, 0.0508, True),
    "A059": lambda: fittings.three_k_coefficient(1e4, 950.0, 0.25, 4.0, 12.0),
    "A060": lambda: fittings.three_k_coefficient(1e4, 950.0, 0.25, 4.0, 2.0),
    "A061": lambda: fittings.three_k_coefficient(500.0, 800.0, 0.14, 4.0, 0.315),
    "A062": lambda: (
        units.from_si(units.to_si(2.0, "m^3/h"), "US_gallon/h")
        / 60.0
        / math.sqrt(units.from_si(1e5, "psi"))
    ),
    "A065": lambda: crane_bend(LIBRARY_BEND_FACTOR),
    "A065T": crane_bend,
    "A065P": lambda: tuple(crane.crane_bend_factor(ratio) for ratio in CRANE_PRINTED_RATIOS),
    "A066": lambda: crane.crane_friction_factor(0.1),
    "A066E": lambda: crane.crane_friction_factor(0.1),
    "A067": crane_7_2,
    "A068": crane_7_8,
    "A069": lambda: (
        losses.reynolds_number(CRANE_7_8_FLOW_M3_PER_S, 0.20274, 0.130 / 869.2),
        losses.mean_velocity(CRANE_7_8_FLOW_M3_PER_S, 0.20274),
    ),
    "A070": crane_7_13_book,
    "A071": crane_7_13_colebrook,
    "A073": lambda: 400.0 + crane_7_15_losses(),
    "A073L": crane_7_15_losses,
    "A074": colebrook(24364.09, 0.0022 / 12.09),
    "A075": lambda: 2000.0 + crane_7_17_losses(),
    "A075L": crane_7_17_losses,
    "A077": crane_7_23,
    "A078": lambda: plate(0.05, 0.07366, 17e3, 999.1, 1.14e-3, 1.0) / 999.1 * 6e4,
    "A079": air_coefficient(orifice.TAPS_CORNER),
    "A080": air_coefficient(orifice.TAPS_D_AND_HALF_D),
    "A082": lambda: orifice.orifice_expansibility(0.0222 / 0.0739, 1e5, 9.9e4, 1.4),
    "A083": lambda: orifice.orifice_mass_flow(0.0222, 0.0739, 1e3, 1.1646, 0.5988, 0.9975),
    "A084": lambda: plate(
        0.05,
        0.07366,
        0.17e5,
        999.1,
        0.0011,
        orifice.orifice_expansibility(0.05 / 0.07366, 2e5, 1.83e5, 1.33),
    ),
    "A085": lambda: fittings.coefficient_pressure_loss(
        0.25 * math.pi * 0.09, 0.3, 0.018 * 100 / 0.3, 2.0
    ),
    "A086": lambda: 10.0 * losses.dynamic_pressure(0.75 * math.pi, 1.0, 1000.0),
}

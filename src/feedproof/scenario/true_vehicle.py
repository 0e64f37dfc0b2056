"""
The demonstration's true vehicle: what the workshop cannot see. INVENTED.

Every law here differs from the package's, so that the truth does not come from the solver that is
tested on it: viscosity by Vogel, friction by Swamee and Jain with a cubic blend from laminar flow,
fittings by a power mean of their two limits, filling by a Hill curve, and a line that is tighter
than the case file says. Nothing of the package is imported.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

GRAVITY_M_PER_S2 = 9.80665
L_PER_H = 1.0 / 3.6e6
RPM_PER_KMH = 60.0 * 3.9 * 1.015 / (3.6 * 0.36 * 2.0 * math.pi)
SWEEP_KMH = (50.0, 115.0)
SWEEP_RATE_KMH_PER_S = 4.5
BAND_KMH = (60.0, 110.0)
HOLD_RPM = 3000.0
HOLD_INJECTED_L_PER_H = 4.0
REFERENCE = {"temperature_c": 35.0, "level": 0.60, "ambient_pa": 91.0e3}

# The plate of the positive control: the widest bore, in steps of 0.05 mm, with which A-P-A has a
# 95 % chance of calling the return's loss a loss (evidence plan: one-sided 5 %, declared standard
# deviation 1.1 %, 8 degrees of freedom) and whose true loss is not below the 5 % margin. A plate
# whose lower limit passes the margin would need twice that loss, at which power collapses too and
# nobody could miss it. `detection_chance` and `control_bore` show the computation.
CONTROL_BORE_M = 3.00e-3
CONTROL_CHANCE = 0.95
DECLARED_RETURN_SD_PERCENT, DECLARED_DEGREES_OF_FREEDOM = 1.1, 8
G_OF_ABA = 1.5
RETURN_MARGIN_LOG_PERCENT = -100.0 * math.log(1.0 - 0.05)

# What the workshop does not know. Bores in m, resistances as in the case file.
TRUE_LINE = {
    "steel_line_bore_m": 7.4e-3,
    "quick_connector_turbulent": 1.15,
    "banjo_turbulent": 3.2,
    "factory_media_resistance_per_m": 2.6e9,
    "fine_media_resistance_per_m": 3.3e9,
    "cracking_pa": 1250.0,
    "hose_roughness_m": 8.0e-6,
}
TRUE_PUMP = {
    "filling": 0.948,
    "slip_l_per_h_at_2p42_mpa_s": 3.3,
    "half_pressure_abs_pa": 33.0e3,
    "hill_exponent": 6.0,
    "gas_release": 0.38,
    "port_loss_pa_at_28rps": 1100.0,
}
# Rail pressure gives way, and the control unit cuts injection, beyond this shortage of filling.
CLIFF = {
    "shortage": 0.082, "width": 0.012, "mpa_per_shortage": 230.0, "held_mpa": 8.6,
    "cut_per_mpa": 0.024,
}  # fmt: skip


# ---- fuel and line ----------------------------------------------------------------------------
def density(temperature_c: float) -> float:
    """Density of the summer fuel by volume expansion, kg/m3."""
    return 838.0 / (1.0 + 8.3e-4 * (temperature_c - 15.0))


def viscosity(temperature_c: float) -> float:
    """Kinematic viscosity by Vogel through the two declared points, m2/s."""
    vogel_k = 150.0
    x20, x40 = 1.0 / (293.15 - vogel_k), 1.0 / (313.15 - vogel_k)
    slope = math.log(4.80 / 2.95) / (x20 - x40)
    x = 1.0 / (temperature_c + 273.15 - vogel_k)
    return 2.95e-6 * math.exp(slope * (x - x40))


def _speed(flow: FloatArray, bore_m: float) -> FloatArray:
    """Mean velocity, m/s."""
    return flow / (math.pi * bore_m**2 / 4.0)


def friction(reynolds: FloatArray, relative_roughness: float) -> FloatArray:
    """Laminar to Re 2200, Swamee and Jain from 3600, a cubic step of the two between."""
    safe = np.maximum(reynolds, 1e-6)
    rough = 5.74 / np.maximum(safe, 1000.0) ** 0.9 + relative_roughness / 3.7
    turbulent = 0.25 / np.log10(rough) ** 2
    x = np.clip((safe - 2200.0) / 1400.0, 0.0, 1.0)
    weight = x * x * (3.0 - 2.0 * x)
    factor: FloatArray = (1.0 - weight) * 64.0 / safe + weight * turbulent
    return factor


def _pipe(q: FloatArray, t_c: float, length: float, bore: float, rough: float) -> FloatArray:
    """Pressure lost in a pipe, Pa."""
    v = _speed(q, bore)
    f = friction(v * bore / viscosity(t_c), rough / bore)
    loss: FloatArray = f * length / bore * density(t_c) * v * v / 2.0
    return loss


def _fitting(
    q: FloatArray, t_c: float, count: int, bore: float, laminar: float, turbulent: float
) -> FloatArray:
    """Pressure lost in fittings: a power mean of the two limits instead of their sum, Pa."""
    v = _speed(q, bore)
    reynolds = np.maximum(v * bore / viscosity(t_c), 1e-6)
    k = ((laminar / reynolds) ** 1.3 + turbulent**1.3) ** (1.0 / 1.3)
    loss: FloatArray = count * k * density(t_c) * v * v / 2.0
    return loss


def _element(
    q: FloatArray, t_c: float, resistance: float, area: float, housing: float, grams_over: float = 0
) -> FloatArray:
    """Pressure lost in an element; loading by a power of the open share of its pores, Pa."""
    grown = (1.0 - grams_over) ** -1.6
    dynamic = density(t_c) * viscosity(t_c)
    loss: FloatArray = dynamic * resistance * grown / area * q + density(t_c) * housing * q * q
    return loss


def _plate(q: FloatArray, t_c: float, bore: float) -> FloatArray:
    """Pressure lost in a plate: sudden expansion behind the contracted jet, Pa."""
    v, share = _speed(q, 8e-3), (bore / 8e-3) ** 2
    contraction = 0.61 + 0.03 * share + 0.36 * share**4
    return (1.0 / (share * contraction) - 1.0) ** 2 * density(t_c) * v * v / 2.0


def line_loss(q: FloatArray, t_c: float) -> FloatArray:
    """Pressure lost in the true factory line, Pa."""
    rough = TRUE_LINE["hose_roughness_m"]
    media = TRUE_LINE["factory_media_resistance_per_m"]
    cracking = TRUE_LINE["cracking_pa"] * (1.0 - np.exp(-q / 1.5e-6))
    total: FloatArray = (
        _element(q, t_c, 6.0e7, 6.0e-3, 1.2e8)
        + _pipe(q, t_c, 0.5, 8e-3, 1.5e-6)
        + _pipe(q, t_c, 3.2, TRUE_LINE["steel_line_bore_m"], 1.5e-6)
        + _pipe(q, t_c, 1.3, 8e-3, rough)
        + _fitting(q, t_c, 4, 6.8e-3, 150.0, TRUE_LINE["quick_connector_turbulent"])
        + _fitting(q, t_c, 2, 6.5e-3, 400.0, TRUE_LINE["banjo_turbulent"])
        + _fitting(q, t_c, 4, 8e-3, 800.0, 0.25)
        + cracking + density(t_c) * 3.0e8 * q * q
        + _element(q, t_c, media, 0.22, 9.0e8)
    )  # fmt: skip
    return total


def kit_loss(q: FloatArray, t_c: float, letter: str, bore: float = CONTROL_BORE_M) -> FloatArray:
    """Pressure lost in what stands in the line beside the factory parts, Pa."""
    rough, media = TRUE_LINE["hose_roughness_m"], TRUE_LINE["fine_media_resistance_per_m"]
    loss = np.zeros_like(q)
    if letter in "BCL":
        dirt = 9.0 / 18.5 if letter == "L" else 0.0
        loss = _element(q, t_c, media, 0.42, 4.0e8, dirt) + _pipe(q, t_c, 0.9, 10e-3, rough)
        loss = loss + _fitting(q, t_c, 4, 8.5e-3, 150.0, 1.2)
    if letter == "C":
        loss = loss + _element(q, t_c, 8.0e7, 0.12, 4.5e8) + _pipe(q, t_c, 1.0, 10e-3, rough)
        loss = loss + _fitting(q, t_c, 4, 8.5e-3, 150.0, 1.2)
    if letter == "D":
        loss = _element(q, t_c, media, 0.12, 8.0e8) + _pipe(q, t_c, 1.6, 6e-3, rough)
        loss = loss + _fitting(q, t_c, 6, 4.6e-3, 400.0, 2.05)
    if letter == "P":
        loss = _plate(q, t_c, bore)
    return loss


# ---- pump and engine --------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """Feed flow, inlet depression and share of the delivery that is missing, over speed."""

    feed_m3_per_s: FloatArray
    depression_pa: FloatArray
    shortage: FloatArray


def feed_state(
    rpm: FloatArray, letter: str, temperature_c: float, level: float, ambient_pa: float,
    bore: float = CONTROL_BORE_M,
) -> State:  # fmt: skip
    """Balance the line's fall against the pump's delivery by halving."""
    pump_rps = rpm / 120.0
    head = density(temperature_c) * GRAVITY_M_PER_S2 * (0.15 + 0.60 * (1.0 - level))
    dynamic = density(temperature_c) * viscosity(temperature_c)
    slip = TRUE_PUMP["slip_l_per_h_at_2p42_mpa_s"] * L_PER_H * 2.42e-3 / dynamic

    def depression(q: FloatArray) -> FloatArray:
        return line_loss(q, temperature_c) + kit_loss(q, temperature_c, letter, bore) + head

    def missing(d: FloatArray) -> FloatArray:
        inlet = np.maximum(ambient_pa - d, 500.0)
        port = TRUE_PUMP["port_loss_pa_at_28rps"] * (pump_rps / 28.0) ** 2
        ratio = TRUE_PUMP["half_pressure_abs_pa"] / np.maximum(inlet - port, 300.0)
        gas = TRUE_PUMP["gas_release"] * 0.13 * np.maximum(ambient_pa / inlet - 1.0, 0.0)
        return 1.0 - 1.0 / ((1.0 + ratio ** TRUE_PUMP["hill_exponent"]) * (1.0 + gas))

    low, high = np.zeros_like(rpm), 1.45e-6 * pump_rps
    for _ in range(60):
        middle = 0.5 * (low + high)
        full = 1.45e-6 * pump_rps * TRUE_PUMP["filling"]
        can = full * (1.0 - missing(depression(middle))) - slip > middle
        low, high = np.where(can, middle, low), np.where(can, high, middle)
    fall = depression(low)
    return State(feed_m3_per_s=low, depression_pa=fall, shortage=missing(fall))


def rail_deviation_mpa(shortage: FloatArray) -> FloatArray:
    """How far the rail stays below demand, MPa: a rounded cliff, held by the cut in injection."""
    width = CLIFF["width"]
    over = width * np.logaddexp(0.0, (shortage - CLIFF["shortage"]) / width)
    held = CLIFF["held_mpa"]
    return held * (1.0 - np.exp(-CLIFF["mpa_per_shortage"] * over / held))


def full_load_wheel_w(
    speed_kmh: FloatArray, shortage: FloatArray, rate_kmh_per_s: float
) -> FloatArray:
    """
    Full-load power at the roller, net of what accelerates the rotating parts, W.

    Parameters
    ----------
    speed_kmh, shortage : array, shape (n,)
        Roller speed and missing share of the delivery.
    rate_kmh_per_s : float
        Sweep rate.

    Returns
    -------
    array, shape (n,)
        Power that the roller reads.
    """
    rpm = speed_kmh * RPM_PER_KMH
    knots = [1000, 1300, 1500, 1700, 2000, 2400, 2800, 3100, 3300, 3500, 3700]
    torque = np.interp(rpm, knots, [218, 303, 344, 369, 371, 364, 349, 332, 317, 290, 250])
    cut = CLIFF["cut_per_mpa"] * rail_deviation_mpa(shortage)
    engine_w = torque * rpm * 2.0 * math.pi / 60.0 * (1.0 - cut)
    inertia_kg = (0.4 * 3.9**2 + 2.8) / 0.36**2
    accelerating = inertia_kg * (speed_kmh / 3.6) * (rate_kmh_per_s / 3.6)
    return engine_w * (1.0 - 0.156) - accelerating


def caught_flow_15c(
    letter: str, temperature_c: float, level: float, ambient_pa: float, bore: float = CONTROL_BORE_M
) -> float:
    """Return flow of the steady hold in neutral, brought to 15 degC, m3/s."""
    state = feed_state(np.array([HOLD_RPM]), letter, temperature_c, level, ambient_pa, bore)
    flow = float(state.feed_m3_per_s[0]) - HOLD_INJECTED_L_PER_H * L_PER_H
    return flow * density(temperature_c) / density(15.0)


# ---- the size of the control ------------------------------------------------------------------
def _beyond_t(limit: float, noncentrality: float, freedom: int) -> float:
    """P(T > limit) of noncentral t, integrated over the chi-square of the estimate."""
    x = np.linspace(1e-6, freedom + 40.0 * math.sqrt(freedom), 8001)
    density_log = (freedom / 2 - 1) * np.log(x) - x / 2 - freedom / 2 * math.log(2.0)
    weight = np.exp(density_log - math.lgamma(freedom / 2))
    z = noncentrality - limit * np.sqrt(x / freedom)
    normal = np.array([0.5 * math.erfc(-value / math.sqrt(2.0)) for value in z])
    product = weight * normal
    return float(np.sum((product[1:] + product[:-1]) / 2.0) * (x[1] - x[0]))


def detection_chance(
    loss_log_percent: float, sd_percent: float = DECLARED_RETURN_SD_PERCENT,
    design_g: float = G_OF_ABA, freedom: int = DECLARED_DEGREES_OF_FREEDOM,
) -> float:  # fmt: skip
    """Chance that the one-sided 95 % lower limit of a true loss lies above zero."""
    low, high = 0.0, 10.0
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _beyond_t(middle, 0.0, freedom) > 0.05 else (low, middle)
    return _beyond_t(low, loss_log_percent / (sd_percent * math.sqrt(design_g)), freedom)


def return_loss_log_percent(letter: str, bore: float = CONTROL_BORE_M) -> float:
    """Give the true loss of caught return at the reference conditions."""
    t, level, ambient = REFERENCE["temperature_c"], REFERENCE["level"], REFERENCE["ambient_pa"]
    with_kit = caught_flow_15c(letter, t, level, ambient, bore)
    return -100.0 * math.log(with_kit / caught_flow_15c("A", t, level, ambient))


def control_bore() -> float:
    """Find the widest plate, in steps of 0.05 mm, that meets both conditions, m."""
    for step in range(80, 40, -1):
        loss = return_loss_log_percent("P", step * 5e-5)
        if loss >= RETURN_MARGIN_LOG_PERCENT and detection_chance(loss) >= CONTROL_CHANCE:
            return step * 5e-5
    raise ValueError("no plate between 2 and 4 mm has the wanted chance of being found")

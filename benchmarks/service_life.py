"""
Service life: vehicles followed from fill to fill, this package and its peers.

All numbers are invented.  Contamination, flows, fuel use and capacities are others for every
vehicle.  SciPy integrates the tank's balance between two fills as it is written against time; NumPy
has this package's own closed form for all vehicles at once, so that the reader sees how much of the
ratio is the formula and how much the machine code.
"""

import math
import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from benchmarks.measure import REPEATS, Report, first_call
from feedproof.kits.life import Followed, Vehicles, follow
from feedproof.kits.passage import Passage

FloatArray = NDArray[np.float64]

VEHICLES, DISTANCE_M = 10_000, 40_000e3
BANDS, ELEMENTS = 12, 3
SCIPY_VEHICLES = 4
GOAL_RATIO, GOAL_ERROR = 1000.0, 2e-5
LITRE_PER_HOUR = 1e-3 / 3600.0
VOLUME_M3 = (0.020, 0.080)
SCALE_KG = np.array([0.020, 0.010, 0.015])
MEDIA_PER_M3 = np.array([1e9, 2e9, 3e9])
LAWS = ("intermediate", "cake", "standard")
GRID_M = np.linspace(0.0, DISTANCE_M, 41)
RTOL = 1e-6


def vehicles(count: int, seed: int = 1) -> Vehicles:
    """
    Draw vehicles.

    Parameters
    ----------
    count : int
        How many.
    seed : int
        Of the draw.

    Returns
    -------
    Vehicles
        No two alike.
    """
    rng = np.random.default_rng(seed)
    return Vehicles(
        contamination_kg_per_m3=2.5e-3 * np.exp(0.7 * rng.standard_normal(count)),
        feed_m3_per_s=rng.uniform(60.0, 100.0, count) * LITRE_PER_HOUR,
        injected_m3_per_s=rng.uniform(9.0, 15.0, count) * LITRE_PER_HOUR,
        fuel_use_m2=1.2e-7 * np.exp(0.1 * rng.standard_normal(count)),
        capacity_ratio=np.exp(0.3 * rng.standard_normal((count, ELEMENTS))),
    )


def line(seed: int = 2) -> tuple[Passage, FloatArray, FloatArray]:
    """
    Draw what the elements let pass, and the dirt by size.

    Parameters
    ----------
    seed : int
        Of the draw.

    Returns
    -------
    tuple of Passage and two arrays, shape (n_b,)
        Passage, shares of mass [-], dirt that enters with each volume burnt [kg/m3].
    """
    rng = np.random.default_rng(seed)
    penetration = np.sort(rng.uniform(0.0, 1.0, (ELEMENTS, BANDS)))[:, ::-1]
    through, catch = np.ones(BANDS), []
    for row in penetration:
        catch.append(through * (1.0 - row))
        through = through * row
    shares = rng.uniform(0.2, 1.0, BANDS)
    way = Passage(
        through=through,
        elements=tuple(f"element {number}" for number in range(ELEMENTS)),
        catch=np.array(catch),
        drawn_m3_per_s=math.nan,
        injected_m3_per_s=math.nan,
    )
    return way, shares / shares.sum(), np.full(BANDS, 1e-5)


def by_package(some: Vehicles) -> Followed:
    """
    Follow vehicles with this package.

    Parameters
    ----------
    some : Vehicles
        The samples.

    Returns
    -------
    Followed
        As `feedproof.kits.life.follow`.
    """
    way, shares, entering = line()
    return follow(
        some,
        mass_share=shares,
        entering_kg_per_m3=entering,
        passage=way,
        media_per_m3=MEDIA_PER_M3,
        scale_kg=SCALE_KG,
        laws=LAWS,
        volume_m3=VOLUME_M3,
        allowed_per_m3=math.inf,
        grid_m=GRID_M,
    )


def one_vehicle() -> None:
    """Follow one vehicle: what a fresh process pays for."""
    by_package(vehicles(1))


def first(some: Vehicles, count: int) -> Vehicles:
    """
    Give the first few vehicles.

    Parameters
    ----------
    some : Vehicles
        The samples.
    count : int
        How many.

    Returns
    -------
    Vehicles
        Them.
    """
    return Vehicles(
        contamination_kg_per_m3=some.contamination_kg_per_m3[:count],
        feed_m3_per_s=some.feed_m3_per_s[:count],
        injected_m3_per_s=some.injected_m3_per_s[:count],
        fuel_use_m2=some.fuel_use_m2[:count],
        capacity_ratio=some.capacity_ratio[:count],
    )


def by_scipy(some: Vehicles) -> FloatArray:
    """
    Integrate the balance against time with LSODA, vehicle by vehicle, fill by fill.

    Parameters
    ----------
    some : Vehicles
        The samples.

    Returns
    -------
    array, shape (n, n_e)
        Dirt that the elements hold after the last whole fill. [kg]
    """
    way, shares, entering = line()
    low, high = VOLUME_M3
    found = np.empty((some.fuel_use_m2.size, ELEMENTS))
    for i in range(found.shape[0]):
        feed, injected = some.feed_m3_per_s[i], some.injected_m3_per_s[i]
        fresh = some.contamination_kg_per_m3[i] * shares
        leaving = feed - (feed - injected) * way.through
        caught = way.catch * feed

        def balance(
            t: float,
            y: FloatArray,
            injected: float = injected,
            leaving: FloatArray = leaving,
            caught: FloatArray = caught,
        ) -> FloatArray:
            concentration = y[:BANDS] / (high - injected * t)
            return np.concatenate(
                [entering * injected - leaving * concentration, caught @ concentration]
            )

        state = np.concatenate([fresh * low, np.zeros(ELEMENTS)])
        for _ in range(_fills(some.fuel_use_m2[i])):
            state[:BANDS] += fresh * (high - low)
            solved = solve_ivp(
                balance,
                (0.0, (high - low) / injected),
                state,
                method="LSODA",
                rtol=RTOL,
                atol=1e-14,
            )
            state = solved.y[:, -1]
        found[i] = state[BANDS:]
    return found


def by_numpy(some: Vehicles) -> FloatArray:
    """
    Take this package's closed form with NumPy, all vehicles at once.

    Parameters
    ----------
    some : Vehicles
        The samples.

    Returns
    -------
    array, shape (n, n_e)
        Dirt that the elements hold after the last whole fill. [kg]
    """
    way, shares, entering = line()
    low, high = VOLUME_M3
    ratio = (some.feed_m3_per_s / some.injected_m3_per_s)[:, None]
    exponent = (ratio - 1.0) * (1.0 - way.through)
    power = exponent * math.log(low / high)
    decay, made = np.exp(power), -entering * np.expm1(power) / exponent
    lost = 1.0 / (1.0 - (1.0 - 1.0 / ratio) * way.through)
    fresh = some.contamination_kg_per_m3[:, None] * shares
    held, captured = fresh.copy(), np.zeros((fresh.shape[0], ELEMENTS))
    fills = np.array([_fills(use) for use in some.fuel_use_m2])
    for number in range(fills.max()):
        before = (held * low + fresh * (high - low)) / high
        after = before * decay + made
        drawn = lost * (before * high - after * low + entering * (high - low))
        running = (number < fills)[:, None]
        captured += np.where(running, drawn @ way.catch.T, 0.0)
        held = np.where(running, after, held)
    return captured


def _fills(fuel_use_m2: float) -> int:
    """Count the fills of a vehicle: as many as it takes to pass the last distance."""
    step = (VOLUME_M3[1] - VOLUME_M3[0]) / fuel_use_m2
    return math.ceil(DISTANCE_M / step)


def greatest_error(ours: FloatArray, theirs: FloatArray) -> float:
    """
    Compare what elements hold.

    Parameters
    ----------
    ours, theirs : array, shape (n, n_e)
        Dirt. [kg]

    Returns
    -------
    float
        Greatest relative difference. [-]
    """
    return float(np.max(np.abs(ours / theirs - 1.0)))


def _least_s(call: Callable[[], object], repeats: int = REPEATS) -> tuple[float, float]:
    """Give the least and the greatest time of a call."""
    times = []
    for _ in range(repeats):
        started = time.perf_counter()
        call()
        times.append(time.perf_counter() - started)
    return min(times), max(times)


def main(report: Report) -> None:
    """
    Compare answers, then time side by side.

    Parameters
    ----------
    report : Report
        Where to.
    """
    report.title("Service life")
    some = vehicles(VEHICLES)
    found = by_package(some)
    few = first(some, SCIPY_VEHICLES)
    report.say(
        f"{VEHICLES:,} vehicles x {DISTANCE_M / 1e3:,.0f} km, {BANDS} bands of size, {ELEMENTS}"
        " elements, every vehicle another one; shared among the machine's threads. Dirt held, sum"
        f" {found.captured_kg.sum():.9g} kg.",
    )
    first_call(report, "benchmarks.service_life", "one_vehicle")
    by_ode = greatest_error(found.captured_kg[:SCIPY_VEHICLES], by_scipy(few))
    by_form = greatest_error(found.captured_kg, by_numpy(some))
    report.paragraph(
        f"Answers: greatest relative difference of the dirt held from LSODA at rtol {RTOL:g}"
        f" {by_ode:.1e} (allowed {GOAL_ERROR:.0e}; the closed form has no step, the difference is"
        f" the integrator's), from NumPy {by_form:.1e}."
    )
    if max(by_ode, by_form) > GOAL_ERROR:
        raise RuntimeError("the sides do not agree: a time would say nothing")
    rows = []
    ours, ours_worst = _least_s(lambda: by_package(some))
    for name, call, count in (
        ("this package", None, VEHICLES),
        ("SciPy LSODA", lambda: by_scipy(few), SCIPY_VEHICLES),
        ("NumPy, same closed form", lambda: by_numpy(some), VEHICLES),
    ):
        least, worst = (ours, ours_worst) if call is None else _least_s(call, 3)
        ratio = least / count / (ours / VEHICLES)
        goal = name == "SciPy LSODA"
        rows.append(
            (
                name,
                f"{count:,}",
                f"{least:.3f}",
                f"{worst:.3f}",
                f"{1e6 * least / count:,.1f}",
                f"{ratio:,.0f}" if ratio > 10 else f"{ratio:.1f}",
                f"{GOAL_RATIO:,.0f}" if goal else "",
                ("met" if ratio >= GOAL_RATIO else "MISSED") if goal else "",
            )
        )
    report.table(("who", "vehicles", "s", "worst", "µs a vehicle", "times ours", "goal", ""), rows)

"""
The envelope: kits, temperatures, altitudes, loadings and speeds, each point coupled with the pump.

All is of the invented reference vehicle.  Ours is the public function with lowering, five kits one
after the other; the peer takes a random sample of the same points, by hand with `fluids` and
SciPy's `brentq`, and its answers are compared before anything is timed.
"""

import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from benchmarks.equations import Ask, Loss, chain_loss, coupled_depression
from benchmarks.measure import REPEATS, Report, first_call
from feedproof.feedline.circuit import build_circuit
from feedproof.feedline.envelope import Envelope, EnvelopeLimits, envelope
from feedproof.feedline.plan import FluidPlan, PumpPlan
from feedproof.physics.atmosphere import standard_pressure
from feedproof.physics.friction import FrictionRule
from tests.feedline import reference

FloatArray = NDArray[np.float64]

KITS = (("K1",), ("K2",), ("K1", "K2"), ("K3",), ("K2-small",))
TEMPERATURES_K = np.linspace(-8.0, 80.0, 25) + 273.15
PRESSURES_PA = np.array([float(standard_pressure(z)) for z in np.linspace(0.0, 4200.0, 15)])
LOADINGS = tuple((f"{g:g} g", {"oe_filter": g * 1e-3}) for g in (0.0, 3.0, 6.0, 10.0))
SPEEDS_REV_PER_S = np.linspace(1000.0, 3800.0, 60) / 60.0
LIMITS = EnvelopeLimits(least_pressure_abs_pa=50500.0)
RULE = FrictionRule.BLEND_COLEBROOK
SAMPLE = 1000
GOAL_S, GOAL_RATIO = 1.0, 400.0
AGREEMENT = 1e-6


def by_package(names: tuple[str, ...]) -> Envelope:
    """
    Solve one configuration with this package.

    Parameters
    ----------
    names : tuple of str
        Kits.

    Returns
    -------
    Envelope
        The whole grid.
    """
    body = reference.vehicle()
    return envelope(
        body,
        body.line.with_kits([reference.kit(name) for name in names]),
        reference.fuel_of("summer"),
        reference.conditions(),
        "+".join(names),
        fuel_temperature_k=TEMPERATURES_K,
        ambient_pressure_abs_pa=PRESSURES_PA,
        engine_speed_rev_per_s=SPEEDS_REV_PER_S,
        loadings=LOADINGS,
        limits=LIMITS,
        rule=RULE,
    )


def one_kit() -> None:
    """Solve one kit's grid: what a fresh process pays for."""
    by_package(KITS[0])


Point = tuple[Loss, PumpPlan, FluidPlan, Ask]


def points(count: int, seed: int = 1) -> tuple[NDArray[np.int64], list[Point]]:
    """
    Draw points of the grid at random and set each one up for solving by hand.

    Parameters
    ----------
    count : int
        How many.
    seed : int
        Of the draw.

    Returns
    -------
    indices : array, shape (count, 5)
        Kit, temperature, pressure, loading, speed.
    points : list of tuple
        Loss function, pump, fuel and demand.
    """
    shape = (len(KITS), TEMPERATURES_K.size, PRESSURES_PA.size, len(LOADINGS))
    shape = (*shape, SPEEDS_REV_PER_S.size)
    indices = np.random.default_rng(seed).integers(0, shape, (count, 5))
    return indices, [_point(*map(int, row)) for row in indices]


def _point(kit: int, temperature: int, pressure: int, loading: int, speed: int) -> Point:
    """Set a point up: numbers of fuel, pump and demand are inputs of both sides."""
    body = reference.vehicle()
    line = body.line.with_kits([reference.kit(name) for name in KITS[kit]])
    at = replace(
        reference.conditions(),
        fuel_temperature_k=float(TEMPERATURES_K[temperature]),
        ambient_pressure_abs_pa=float(PRESSURES_PA[pressure]),
    )
    feed = build_circuit(body, line, reference.fuel_of("summer"), at, RULE.name.lower())
    revs = SPEEDS_REV_PER_S[speed]
    _, injected = feed.full_load(np.array([revs]))
    demand = feed.demand(float(revs), float(injected[0]))
    ask = Ask(
        static_pa=feed.around.static_pa,
        ambient_abs_pa=feed.around.ambient_abs_pa,
        saturation_abs_pa=feed.around.saturation_abs_pa,
        speed_rev_per_s=demand.pump_speed_rev_per_s,
        injected_m3_per_s=demand.injected_m3_per_s,
        backleak_m3_per_s=demand.backleak_m3_per_s,
    )
    return chain_loss(line.parts, LOADINGS[loading][1]), feed.pump, feed.fluid, ask


def by_hand(sample: list[Point]) -> FloatArray:
    """
    Solve points by hand.

    Parameters
    ----------
    sample : list of tuple
        From `points`.

    Returns
    -------
    array, shape (n, 2)
        Absolute inlet pressure [Pa] and least slack [-].
    """
    found = np.empty((len(sample), 2))
    limit = LIMITS.least_pressure_abs_pa or 0.0
    for i, (loss, pump, fluid, ask) in enumerate(sample):
        depression, margin, gas = coupled_depression(loss, pump, fluid, ask)
        pressure = ask.ambient_abs_pa - depression
        slacks = (
            pressure / limit - 1.0,
            1.0 - gas / LIMITS.most_free_gas_fraction,
            margin / LIMITS.least_feed_margin - 1.0,
        )
        found[i] = pressure, min(slacks)
    return found


def greatest_difference(
    indices: NDArray[np.int64], sample: list[Point], envelopes: list[Envelope]
) -> tuple[float, float]:
    """
    Compare both sides at the sample.

    Parameters
    ----------
    indices, sample
        From `points`.
    envelopes : list of Envelope
        Ours, in the order of `KITS`.

    Returns
    -------
    tuple of float
        Greatest relative difference of the inlet pressure, greatest of the slack. [-]
    """
    theirs = by_hand(sample)
    limit = LIMITS.least_pressure_abs_pa or 0.0
    places = [tuple(map(int, row)) for row in indices]
    rooms = np.array([envelopes[k].room_pa[i, j, m, v] for k, i, j, m, v in places])
    slacks = np.array([envelopes[k].slack[i, j, m, v] for k, i, j, m, v in places])
    pressure = float(np.max(np.abs((rooms + limit) / theirs[:, 0] - 1.0)))
    return pressure, float(np.max(np.abs(slacks - theirs[:, 1])))


def _least_s(call: Callable[[], object]) -> tuple[float, float]:
    """Give the least and the greatest time of a call."""
    times = []
    for _ in range(REPEATS):
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
    report.title("Envelope")
    envelopes = [by_package(names) for names in KITS]
    count = sum(each.slack.size for each in envelopes)
    report.say(
        f"{len(KITS)} kits x {TEMPERATURES_K.size} temperatures x {PRESSURES_PA.size} altitudes x"
        f" {len(LOADINGS)} loadings x {SPEEDS_REV_PER_S.size} speeds = {count:,} points, each one"
        " solved together with the pump; lowering included. Sum of all slacks"
        f" {sum(float(each.slack.sum()) for each in envelopes):.9g}.",
    )
    first_call(report, "benchmarks.envelope_grid", "one_kit")
    indices, sample = points(SAMPLE)
    pressure, slack = greatest_difference(indices, sample, envelopes)
    report.paragraph(
        f"Answers at {SAMPLE} points drawn at random: greatest relative difference of the absolute"
        f" inlet pressure {pressure:.1e}, of the least slack {slack:.1e} (allowed {AGREEMENT:.0e});"
        " both sides solve the same equations, what is left is the tolerance of the two roots."
    )
    if max(pressure, slack) > AGREEMENT:
        raise RuntimeError("the sides do not agree: a time would say nothing")
    ours, ours_worst = _least_s(lambda: [by_package(names) for names in KITS])
    theirs, theirs_worst = _least_s(lambda: by_hand(sample))
    ratio = (theirs / SAMPLE) / (ours / count)
    report.table(
        ("who", "points", "s", "worst", "µs a point", "times ours", "goal", ""),
        [
            (
                "this package",
                f"{count:,}",
                f"{ours:.3f}",
                f"{ours_worst:.3f}",
                f"{1e6 * ours / count:.3f}",
                "1",
                f"< {GOAL_S:g} s",
                "met" if ours < GOAL_S else "MISSED",
            ),
            (
                "fluids + brentq",
                f"{SAMPLE:,}",
                f"{theirs:.3f}",
                f"{theirs_worst:.3f}",
                f"{1e6 * theirs / SAMPLE:.1f}",
                f"{ratio:.0f}",
                f"{GOAL_RATIO:g}",
                "met" if ratio >= GOAL_RATIO else "MISSED",
            ),
        ],
    )
    report.say(
        "",
        "The peer's time is that of the roots alone: fuel, demand and the list of parts of each"
        " point are made before its clock starts.",
    )

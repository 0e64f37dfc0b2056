"""
The fit: 6 parameters to 15 runs with covariance, and a sample of the parameters.

All is of the invented reference vehicle, with and without its fine kit, 8 speed bins and one catch
a run.  The peers ask the same line in plain Python, by hand with `fluids` and SciPy's `brentq`:
SciPy's `least_squares` for the fit, `emcee` for the sample.  Answers are compared first.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from benchmarks.equations import Ask, chain_loss, coupled_depression, pump_draw
from benchmarks.measure import REPEATS, Report
from feedproof.case.case import Case
from feedproof.case.margin import Margins
from feedproof.evidence.fit.estimate import Estimate, estimate
from feedproof.evidence.fit.groups import changed_part, groups_of_case
from feedproof.evidence.fit.parameters import Parameter, Parameters
from feedproof.evidence.fit.posterior import Posterior, effective_draws, sample
from feedproof.evidence.fit.runs_model import FitRun, RunsModel
from feedproof.evidence.fit.scatter import Errors, covariance
from tests.feedline import reference

FloatArray = NDArray[np.float64]

KIT = "K2"
ORDER = "ABABABABABABABA"
SPEEDS = np.linspace(28.0, 56.0, 8)
HOLD_REV_PER_S = 50.0
ERRORS = Errors(run_pa=250.0, setup_pa=0.0, point_pa=60.0, return_percent=1.0)
SD = {
    "gauge": ("Pa", 200.0),
    "line.viscous": ("factor", 0.15),
    "line.inertial": ("factor", 0.30),
    f"kit.{KIT}.viscous": ("factor", 0.15),
    f"kit.{KIT}.inertial": ("factor", 0.30),
    "pump.displacement": ("factor", 0.03),
}
TRUTH = np.array([0.5, -0.6, 1.0, 0.8, -0.7, 0.4])
"""Planted, in prior standard deviations."""
FIT_GOAL_S, SAMPLE_GOAL_S = 0.1, 5.0
WALKERS, PLAIN_STEPS, FAST_STEPS, BURNT = 20, 100, 2000, 400
AGREEMENT = 1e-4
"""Prior standard deviations: what two minimisers may differ by."""


def parameters() -> Parameters:
    """Give the six parameters."""
    return Parameters(
        each=tuple(
            Parameter(name=name, meaning=name, unit=unit, standard_deviation=sd, source="planted")
            for name, (unit, sd) in SD.items()
        )
    )


def reference_case() -> Case:
    """Give the reference vehicle with its fine kit as a case."""
    return Case(
        title="benchmark",
        note="",
        vehicle=reference.vehicle(),
        fuels={"summer": reference.fuel_of("summer")},
        kits={KIT: reference.kit(KIT)},
        pull=reference.PULL,
        reference=reference.conditions(),
        worst=(),
        margins=Margins(declared=datetime(2026, 1, 1, tzinfo=UTC)),
        repeatability={},
        instruments={},
        runs=(),
    )


def runs() -> tuple[FitRun, ...]:
    """Give 15 runs without readings."""
    return tuple(
        FitRun(
            number=number,
            session="day",
            setup="loop",
            configuration=KIT if letter == "B" else "baseline",
            kits=(KIT,) if letter == "B" else (),
            conditions=reference.conditions(30.0 + number),
            engine_speed_rev_per_s=SPEEDS,
            depression_pa=np.zeros(SPEEDS.size),
            bins=np.arange(SPEEDS.size),
            return_m3_per_s=3e-5,
            return_speed_rev_per_s=np.array([HOLD_REV_PER_S]),
        )
        for number, letter in enumerate(ORDER)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """Readings and their covariance, the same for all sides."""

    measured: FloatArray
    covariance: FloatArray


def problem() -> Problem:
    """Plant the parameters and draw readings once."""
    model = RunsModel(reference_case(), runs(), parameters())
    spread = covariance(model, ERRORS)
    noise = np.linalg.cholesky(spread) @ np.random.default_rng(1).normal(size=spread.shape[0])
    return Problem(measured=model.predicted(TRUTH[None])[0] + noise, covariance=spread)


def by_package(given: Problem) -> Estimate:
    """
    Fit with this package, lowering of all runs included.

    Parameters
    ----------
    given : Problem
        Readings.

    Returns
    -------
    Estimate
        Parameters with covariance.
    """
    model = RunsModel(reference_case(), runs(), parameters())
    return estimate(model.predicted, given.measured, given.covariance, model.parameters)


def sampled(given: Problem, found: Estimate) -> Posterior:
    """
    Sample with this package, lowering of all runs included.

    Parameters
    ----------
    given : Problem
        Readings.
    found : Estimate
        The fit.

    Returns
    -------
    Posterior
        The sample.
    """
    model = RunsModel(reference_case(), runs(), parameters())
    return sample(model.predicted, given.measured, given.covariance, found)


class PlainLine:
    """The readings in plain Python, point by point; fuel and demand are made before the clock."""

    def __init__(self) -> None:
        self.case = reference_case()
        self.runs = runs()
        self.groups = groups_of_case(self.case)
        self.parameters = parameters()
        model = RunsModel(self.case, self.runs, self.parameters)
        self.circuits = model.line.circuits
        self.injected = model.line.injected

    def predicted(self, whitened: FloatArray) -> FloatArray:
        """Give what the runs would read."""
        values = self.parameters.values(np.asarray(whitened)[None]).at(0)
        found: list[float] = []
        for run, circuit, injected in zip(self.runs, self.circuits, self.injected, strict=True):
            parts = [
                changed_part(
                    part,
                    values.get(self.groups[part.id].viscous, 1.0),
                    values.get(self.groups[part.id].inertial, 1.0),
                )
                for part in circuit.line.parts
            ]
            loss, fluid = chain_loss(parts, {}), circuit.fluid
            pump = circuit.pump._replace(
                displacement_m3_per_rev=circuit.pump.displacement_m3_per_rev
                * values["pump.displacement"]
            )
            speeds = (*run.engine_speed_rev_per_s.tolist(), HOLD_REV_PER_S)
            for speed, wanted in zip(speeds, injected.tolist(), strict=True):
                demand = circuit.demand(speed, wanted)
                ask = Ask(
                    static_pa=circuit.around.static_pa,
                    ambient_abs_pa=circuit.around.ambient_abs_pa,
                    saturation_abs_pa=circuit.around.saturation_abs_pa,
                    speed_rev_per_s=demand.pump_speed_rev_per_s,
                    injected_m3_per_s=demand.injected_m3_per_s,
                    backleak_m3_per_s=demand.backleak_m3_per_s,
                )
                depression = coupled_depression(loss, pump, fluid, ask)[0]
                found.append(depression + values["gauge"])
            back = pump_draw(depression, pump, fluid, ask)[1]
            fuel = self.case.fuels[run.conditions.fuel]
            ratio = fluid.density_kg_per_m3 / fuel.density_15c_kg_per_m3
            found[-1] = 100.0 * float(np.log(back * ratio))
        return np.array(found)


def by_scipy(given: Problem, line: PlainLine) -> tuple[FloatArray, FloatArray]:
    """
    Fit the plain line with SciPy.

    Parameters
    ----------
    given : Problem
        Readings.
    line : PlainLine
        The line.

    Returns
    -------
    parameters, covariance : array
        In prior standard deviations.
    """
    whitening = np.linalg.inv(np.linalg.cholesky(given.covariance))

    def residuals(whitened: FloatArray) -> FloatArray:
        off = whitening @ (line.predicted(whitened) - given.measured)
        return np.concatenate([off, whitened])

    found = least_squares(residuals, np.zeros(len(SD)), diff_step=1e-5, x_scale=1.0)
    return found.x, np.linalg.inv(found.jac.T @ found.jac)


def by_emcee(
    given: Problem, predicted: Callable[[FloatArray], FloatArray], steps: int, *, many: bool
) -> FloatArray:
    """
    Sample with emcee from a cloud around the planted parameters.

    Parameters
    ----------
    given : Problem
        Readings.
    predicted : callable
        The line, for one point or, with ``many``, for all walkers at once.
    steps : int
        Of every walker.
    many : bool
        Hand over all walkers at once.

    Returns
    -------
    array, shape (walkers, steps, 6)
        Draws.
    """
    import emcee

    whitening = np.linalg.inv(np.linalg.cholesky(given.covariance))

    def log_density(points: FloatArray) -> Any:
        off = (predicted(points) - given.measured) @ whitening.T
        return -0.5 * ((off**2).sum(axis=-1) + (points**2).sum(axis=-1))

    rng = np.random.default_rng(1)
    start = TRUTH + 0.1 * rng.normal(size=(WALKERS, TRUTH.size))
    sampler = emcee.EnsembleSampler(WALKERS, TRUTH.size, log_density, vectorize=many)
    sampler.random_state = np.random.RandomState(1).get_state()
    sampler.run_mcmc(start, steps)
    return np.asarray(sampler.get_chain()).transpose(1, 0, 2)


def _timed(call: Callable[[], Any], repeats: int = REPEATS) -> tuple[float, float]:
    """Give the least and the greatest time of a call."""
    times = []
    for _ in range(repeats):
        started = time.perf_counter()
        call()
        times.append(time.perf_counter() - started)
    return min(times), max(times)


def _row(who: str, work: str, times: tuple[float, float], ours: float, goal: float) -> list[str]:
    """Make a row of a table."""
    verdict = "" if goal == 0.0 else "met" if times[0] < goal else "MISSED"
    ratio = times[0] / ours
    words = f"{ratio:,.2f}" if ratio < 10.0 else f"{ratio:,.0f}"
    goal_words = f"< {goal:g} s" if goal else ""
    return [who, work, f"{times[0]:.3g}", f"{times[1]:.3g}", words, goal_words, verdict]


def main(report: Report) -> None:
    """
    Compare answers, then time side by side.

    Parameters
    ----------
    report : Report
        Where to.
    """
    report.title("Fit of 6 parameters to 15 runs with covariance; posterior")
    given, line = problem(), PlainLine()
    found = by_package(given)
    theirs, spread = by_scipy(given, line)
    apart = float(np.max(np.abs(found.whitened - theirs)))
    apart_sd = float(np.max(np.abs(found.ratios / np.sqrt(np.diag(spread)) - 1.0)))
    report.say(
        f"{len(ORDER)} runs of {SPEEDS.size} speed bins and one catch,"
        f" {given.measured.size} readings, {len(SD)} parameters.",
        f"Answers: parameters differ by {apart:.1e} prior standard deviations at most (allowed"
        f" {AGREEMENT:.0e}), their standard deviations by {100 * apart_sd:.2f} %.",
    )
    if apart > AGREEMENT:
        raise RuntimeError("the sides do not agree: a time would say nothing")
    ours = _timed(lambda: by_package(given))
    head = ("who", "", "s", "worst", "times ours", "goal", "")
    report.say("")
    report.table(
        head,
        [
            _row("this package", "fit", ours, ours[0], FIT_GOAL_S),
            _row(
                "SciPy least_squares, plain scalar line",
                "fit",
                _timed(lambda: by_scipy(given, line), 2),
                ours[0],
                0.0,
            ),
        ],
    )
    _samples(report, given, line, found)


def _samples(report: Report, given: Problem, line: PlainLine, found: Estimate) -> None:
    """Compare the samplers: the same law, then time and what the draws are worth."""
    model = RunsModel(reference_case(), runs(), parameters())
    drawn = sampled(given, found)
    fast = by_emcee(given, model.predicted, FAST_STEPS, many=True)[:, BURNT:]
    worth = effective_draws(fast)
    mean = fast.reshape(-1, TRUTH.size).mean(axis=0)
    apart = float(np.max(np.abs(drawn.whitened.mean(axis=0) - mean) / found.ratios))
    allowed = 5.0 * float(np.sqrt(1.0 / worth + 1.0 / drawn.effective))
    report.paragraph(
        f"Means of the two samples differ by {apart:.3f} standard deviations at most (allowed"
        f" {allowed:.3f}, five of their own errors). Draws are worth: this package"
        f" {drawn.effective:.0f} of {len(drawn.whitened)}, R-hat {drawn.r_hat:.3f}; emcee"
        f" {worth:.0f} of {fast.shape[0] * fast.shape[1]}."
    )
    if apart > allowed:
        raise RuntimeError("the samples do not agree: a time would say nothing")
    ours = _timed(lambda: sampled(given, found))
    report.table(
        ("who", "draws", "s", "worst", "times ours", "goal", ""),
        [
            _row("this package", f"{len(drawn.whitened):,}", ours, ours[0], SAMPLE_GOAL_S),
            _row(
                "emcee, this package's line",
                f"{WALKERS * FAST_STEPS:,}",
                _timed(lambda: by_emcee(given, model.predicted, FAST_STEPS, many=True), 2),
                ours[0],
                0.0,
            ),
            _row(
                "emcee, plain scalar line",
                f"{WALKERS * PLAIN_STEPS:,}",
                _timed(lambda: by_emcee(given, line.predicted, PLAIN_STEPS, many=False), 1),
                ours[0],
                0.0,
            ),
        ],
    )

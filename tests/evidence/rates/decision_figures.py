"""
What our own way promises: power by order and scatter, declared drift, looks, instruments.

Source: the method's own simulation; 40,000 sessions where power is told, 3,000 elsewhere.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from tests.evidence.rates.draws import sessions, with_archive
from tests.evidence.rates.figure import Figure
from tests.evidence.rates.harness import Declared, Method, decide, flags_of

FIVE_EACH = "ABBABAABAB"
MARGIN = 2.0
Trials = Callable[[np.random.Generator, int], NDArray[np.bool_]]

# Scatter, margin: power of each order at no loss, drift of 1 a run.
POWER = {
    (0.5, 1.0): (0.44, 0.55, 0.68, 0.91),
    (0.5, 2.0): (0.91, 0.93, 0.99, 1.0),
    (1.0, 2.0): (0.44, 0.55, 0.68, 0.90),
    (1.0, 3.0): (0.72, 0.83, 0.93, 1.0),
    (1.5, 2.0): (0.26, 0.33, 0.42, 0.63),
    (1.5, 3.0): (0.44, 0.55, 0.68, 0.90),
    (0.2, 1.0): (0.98, 0.95, 1.0, 1.0),
    (0.2, 2.0): (1.0, 0.96, 1.0, 1.0),
    (0.35, 1.0): (0.69, 0.79, 0.91, 1.0),
    (0.35, 2.0): (1.0, 0.95, 1.0, 1.0),
}
POWER_ORDERS = ("ABA", "ABBA", "ABABAB", FIVE_EACH)


def power_trials(order: str, sd: float, margin: float) -> Trials:
    """Count sessions without a loss that exclude the margin."""

    def trials(rng: np.random.Generator, repeats: int) -> NDArray[np.bool_]:
        runs = sessions(rng, order, repeats, drift=1.0, sd=sd)
        return decide(runs, order, with_archive(rng, repeats, sd=sd)).passes(margin)

    return trials


def looks_trials(loss: float, confidence: float) -> Trials:
    """Look after 2, 3, 4 and 5 runs of each and stop at the first look that passes."""

    def trials(rng: np.random.Generator, repeats: int) -> NDArray[np.bool_]:
        return first_pass(rng, repeats, loss, confidence) > 0

    return trials


def first_pass(
    rng: np.random.Generator, repeats: int, loss: float, confidence: float
) -> NDArray[np.int64]:
    """Give the number of runs after which each session first passes, 0 for never."""
    runs = sessions(rng, FIVE_EACH, repeats, loss=loss)
    declared = with_archive(rng, repeats)
    stopped = np.zeros(repeats, dtype=np.int64)
    for n in (10, 8, 6, 4):
        found = decide(runs[:, :n], FIVE_EACH[:n], declared, Method(confidence=confidence))
        stopped = np.where(found.passes(MARGIN), n, stopped)
    return stopped


def pair_trials(tau: float, kind: str) -> Trials:
    """Run one of each, with a drift that only a declaration can deal with."""

    def trials(rng: np.random.Generator, repeats: int) -> NDArray[np.bool_]:
        drift = {
            "random": rng.normal(0.0, tau, repeats),
            "one": np.full(repeats, -tau),
            "two": np.full(repeats, -2.0 * tau),
            "bound": np.full(repeats, -2.0 * tau),
        }[kind]
        runs = sessions(rng, "AB", repeats, loss=MARGIN) + np.outer(drift, [0.0, 1.0])
        how = {"drift_bound_per_run": 2.0 * tau} if kind == "bound" else {"drift_per_run": tau}
        return decide(runs, "AB", with_archive(rng, repeats, **how)).passes(MARGIN)

    return trials


def gauge_trials(u: float, *, included: bool) -> Trials:
    """Give the candidate's runs one common instrument error; the order is ABBAAB."""

    def trials(rng: np.random.Generator, repeats: int) -> NDArray[np.bool_]:
        order, sd = "ABBAAB", 0.4
        error = np.outer(rng.normal(0.0, u, repeats), flags_of(order))
        runs = sessions(rng, order, repeats, loss=MARGIN, sd=sd) + error
        declared = with_archive(rng, repeats, sd=sd, type_b_u=u if included else 0.0)
        return decide(runs, order, declared).passes(MARGIN)

    return trials


def three_measures(rng: np.random.Generator, repeats: int, loss: float) -> list[NDArray[np.bool_]]:
    """Decide three independent measures of ABBA sessions: one with the loss, two without."""
    return [
        decide(
            sessions(rng, "ABBA", repeats, loss=each), "ABBA", with_archive(rng, repeats)
        ).passes(MARGIN)
        for each in (loss, 0.0, 0.0)
    ]


POWER_FIGURES = [
    Figure(
        name=f"power of {order}, scatter {sd:g}, margin {margin:g}",
        printed=printed,
        trials=power_trials(order, sd, margin),
        behind=40_000,
        digits=2,
    )
    for (sd, margin), row in POWER.items()
    for order, printed in zip(POWER_ORDERS, row, strict=True)
]
LOOK_FIGURES = [
    Figure(name="looks at 2 % each, loss = margin", printed=0.045, trials=looks_trials(2.0, 0.98)),
    Figure(
        name="looks at 2 % each, no loss", printed=0.84, digits=2, trials=looks_trials(0.0, 0.98)
    ),
    Figure(name="looks at 5 % each, loss = margin", printed=0.104, trials=looks_trials(2.0, 0.95)),
    Figure(
        name="one look at five of each, no loss",
        printed=0.907,
        trials=power_trials(FIVE_EACH, 1.0, MARGIN),
    ),
]
# Of a printed range the ends are taken; the harness names the drifts that reach them.
PAIR_FIGURES = [
    Figure(name=f"AB, {kind} drift of {tau:g}", printed=printed, trials=pair_trials(tau, kind))
    for tau, row in {
        0.5: {"random": 0.05, "one": 0.081, "two": 0.143, "bound": 0.049},
        1.0: {"random": 0.05, "one": 0.097, "two": 0.261, "bound": 0.049},
    }.items()
    for kind, printed in row.items()
]
GAUGE_FIGURES = [
    Figure(
        name=f"instrument error {u:g}, {'included' if included else 'left out'}",
        printed=printed,
        trials=gauge_trials(u, included=included),
    )
    for u, included, printed in (
        (0.3, False, 0.100),
        (0.6, False, 0.194),
        (0.3, True, 0.048),
        (0.6, True, 0.049),
    )
]
NO_ARCHIVE = Declared()

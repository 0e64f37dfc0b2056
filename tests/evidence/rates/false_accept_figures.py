"""How often our own way passes a loss of the margin, by order and drift."""

import numpy as np
from numpy.typing import NDArray

from tests.evidence.rates.decision_figures import FIVE_EACH, MARGIN, Trials
from tests.evidence.rates.draws import sessions, with_archive
from tests.evidence.rates.figure import Figure
from tests.evidence.rates.harness import decide

ORDERS = ("ABA", "ABBA", "ABAB", "ABABAB", "ABBAAB", "ABABABABAB", FIVE_EACH)


def trials_of(order: str, drift: float) -> Trials:
    """Simulate sessions with a loss of the margin."""

    def trials(rng: np.random.Generator, repeats: int) -> NDArray[np.bool_]:
        runs = sessions(rng, order, repeats, loss=MARGIN, drift=drift)
        return decide(runs, order, with_archive(rng, repeats)).passes(MARGIN)

    return trials


# The middle of the printed band; its half-width is what 40,000 sessions leave open.
FALSE_ACCEPT_FIGURES = [
    Figure(
        name=f"{order}, drift {drift:g} a run",
        printed=0.0495,
        trials=trials_of(order, drift),
        behind=40_000,
    )
    for order in ORDERS
    for drift in (0.0, 1.0, -1.0)
]

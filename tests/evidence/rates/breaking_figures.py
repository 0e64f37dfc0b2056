"""
Where the method itself breaks, as documented: too small an archive, drift that is not straight.

Source: the method's own simulation.  Sizes that it does not print (the warm-up curve's and the
bend's) are those with which its figures come out; the text beside each says so.
"""

from collections.abc import Callable
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from tests.evidence.rates.decision_figures import FIVE_EACH, MARGIN, Trials
from tests.evidence.rates.draws import ARCHIVE_DOF, sessions, shared, with_archive
from tests.evidence.rates.figure import Figure
from tests.evidence.rates.harness import OURS, Declared, Method, decide

FloatArray = NDArray[np.float64]
Shape = Callable[[FloatArray], FloatArray]


def wrong_archive_trials(order: str, share: float, nu0: float, method: Method = OURS) -> Trials:
    """Declare a repeatability that is a share of the truth."""

    def trials(rng: np.random.Generator, repeats: int) -> NDArray[np.bool_]:
        declared = Declared(s0=np.full(repeats, share), nu0=nu0)
        return decide(sessions(rng, order, repeats, loss=MARGIN), order, declared, method).passes(
            MARGIN
        )

    return trials


def shape_trials(order: str, shape: Shape, sign: float, method: Method = OURS) -> Trials:
    """Add a disturbance that is no straight line."""

    def trials(rng: np.random.Generator, repeats: int) -> NDArray[np.bool_]:
        extra = sign * shape(np.arange(float(len(order))))
        runs = sessions(rng, order, repeats, loss=MARGIN) + extra
        return decide(runs, order, with_archive(rng, repeats), method).passes(MARGIN)

    return trials


def jump(place: FloatArray) -> FloatArray:
    """Jump by two standard deviations in the middle of the session."""
    return 2.0 * (place >= place.size / 2)


def odd_first(place: FloatArray) -> FloatArray:
    """Put the first run two standard deviations off."""
    return 2.0 * (place == 0)


def odd_last(place: FloatArray) -> FloatArray:
    """Put the last run two standard deviations off."""
    return 2.0 * (place == place.size - 1)


def warm_up(place: FloatArray) -> FloatArray:
    """Start two standard deviations off and settle within 1.5 runs; the source prints no size."""
    return np.asarray(2.0 * np.exp(-place / 1.5))


def bend(place: FloatArray) -> FloatArray:
    """Bend by 0.75 standard deviations at the ends; the source prints no size."""
    middle = 0.5 * (place.size - 1)
    return np.asarray(0.75 * ((place - middle) / middle) ** 2)


def setups_of(order: str) -> list[str]:
    """Open the plumbing at each change between baseline and candidate."""
    changes = np.cumsum([0, *(a != b for a, b in pairwise(order))])
    return [str(each) for each in changes]


def setup_trials(order: str, sd: float, *, declared: bool, loss: float = MARGIN) -> Trials:
    """Let each opening of the plumbing scatter, declared or ignored."""

    def trials(rng: np.random.Generator, repeats: int) -> NDArray[np.bool_]:
        setup = setups_of(order)
        runs = sessions(rng, order, repeats, loss=loss) + shared(rng, setup, repeats, sd)
        known = with_archive(rng, repeats)
        if declared:
            known = Declared(s0=known.s0, nu0=ARCHIVE_DOF, setup=setup, setup_sd=sd)
        return decide(runs, order, known).passes(MARGIN)

    return trials


# The sign is the worst one of each order.
SHAPES: dict[str, tuple[Shape, int, dict[str, tuple[float, float]]]] = {
    "jump": (
        jump,
        2,
        {
            "ABA": (0.19, 1.0),
            "ABAB": (0.20, 1.0),
            "ABBA": (0.04, 1.0),
            "ABBAAB": (0.23, 1.0),
        },
    ),
    "jump in the middle": (jump, 3, {"ABABAB": (0.056, -1.0), "ABBABAAB": (0.038, 1.0)}),
    "odd first run": (
        odd_first,
        2,
        {"ABA": (0.19, 1.0), "ABBA": (0.22, 1.0), "ABABAB": (0.09, 1.0)},
    ),
    "odd last run": (
        odd_last,
        2,
        {"ABA": (0.19, 1.0), "ABBA": (0.22, 1.0), "ABABAB": (0.09, -1.0)},
    ),
    "odd end, two of each": (odd_first, 3, {"ABAB": (0.085, 1.0)}),
    "warm-up": (
        warm_up,
        2,
        {"ABA": (0.07, 1.0), "ABBA": (0.09, 1.0), "ABAB": (0.05, 1.0), "ABABAB": (0.05, 1.0)},
    ),
    "bend": (bend, 2, {"ABA": (0.14, 1.0), "ABBA": (0.14, 1.0)}),
    "bend of alternating runs": (bend, 3, {"ABAB": (0.045, 1.0), "ABABAB": (0.045, 1.0)}),
}
SHAPE_FIGURES = [
    Figure(
        name=f"{name}, {order}",
        printed=printed,
        digits=digits,
        trials=shape_trials(order, shape, sign),
    )
    for name, (shape, digits, cells) in SHAPES.items()
    for order, (printed, sign) in cells.items()
]
ARCHIVE_FIGURES = [
    Figure(
        name=f"archive {share:g} of the truth, {order}",
        printed=printed,
        trials=wrong_archive_trials(order, share, ARCHIVE_DOF),
    )
    for share, row in {0.5: (0.178, 0.132, 0.098, 0.073), 0.7: (0.098, 0.090, 0.080, 0.072)}.items()
    for order, printed in zip(("ABA", "ABBA", "ABBAAB", FIVE_EACH), row, strict=True)
]
# Printed as a range only, 0.074 to 0.088: its ends, at the orders that reach them here.
ARCHIVE_FIGURES += [
    Figure(
        name=f"judged archive 0.5 of the truth, {order}",
        printed=printed,
        trials=wrong_archive_trials(order, 0.5, 2.0),
    )
    for order, printed in (("ABA", 0.074), ("ABBA", 0.088))
]
# Ends of the printed ranges, where the source names the cell or only one cell can be the end.
SETUP_FIGURES = [
    Figure(
        name="plumbing 1.0 ignored, ABBA",
        printed=0.131,
        trials=setup_trials("ABBA", 1.0, declared=False),
    ),
    Figure(
        name="plumbing 1.0 declared, ABABAB",
        printed=0.034,
        trials=setup_trials("ABABAB", 1.0, declared=True),
    ),
    Figure(
        name="plumbing 1.0 declared, ABBA, no loss",
        printed=0.33,
        digits=2,
        trials=setup_trials("ABBA", 1.0, declared=True, loss=0.0),
    ),
]

"""
The harness of the rates is no twin that can drift: it gives what `compare` gives, one by one.

Random cases of every kind: orders, archives that are kept and dropped, none, set-ups, declared
drift and its bound, instruments, looks.  Where this holds, a rate of the harness is one of ours.
"""

import numpy as np
import pytest

from feedproof.evidence.archive import Archive
from feedproof.evidence.comparison import Comparison, compare
from feedproof.evidence.curve import compare_curve
from tests.evidence.rates.curves import (
    DRAWN,
    LOCATED,
    SHAPES,
    draw_curves,
    pooled,
    with_archives,
)
from tests.evidence.rates.harness import Decided, Declared, Method, decide

ORDERS = ("AB", "ABA", "AABB", "ABBA", "ABAB", "ABABAB", "ABBAAB", "AAABBB", "ABBABAABAB")
CASES = 900
CLOSE = {"rel": 1e-12, "abs": 1e-12}


def random_case(rng: np.random.Generator, number: int) -> tuple[str, np.ndarray, Declared, float]:
    """Draw one session with everything that may be declared, each in every other case or so."""
    order = ORDERS[number % len(ORDERS)]
    losses = rng.normal(rng.uniform(-2.0, 4.0), rng.uniform(0.2, 3.0), len(order))
    bare = len(order) - 3 <= 0
    archive = bare or rng.random() < 0.8
    setup = [str(rng.integers(3)) for _ in order]
    declared = Declared(
        s0=np.array([rng.uniform(0.2, 3.0)]) if archive else None,
        nu0=float(rng.integers(1, 20)) if archive else 0.0,
        setup=setup,
        setup_sd=float(rng.choice([0.0, 0.5])),
        drift_per_run=float(rng.uniform(0.1, 1.0)),
        drift_bound_per_run=float(rng.choice([0.0, 0.8])),
        type_b_u=float(rng.choice([0.0, 0.4])),
    )
    return order, losses, declared, float(rng.choice([0.95, 0.98]))


def one_by_one(order: str, losses: np.ndarray, declared: Declared, confidence: float) -> Comparison:
    """Ask the package itself."""
    archive = None
    if declared.s0 is not None:
        archive = Archive(standard_deviation=float(declared.s0[0]), degrees_of_freedom=declared.nu0)
    return compare(
        losses,
        np.array([letter == "B" for letter in order]),
        np.arange(float(len(order))),
        declared.setup or ["one"] * len(order),
        archive=archive,
        setup_sd=declared.setup_sd,
        drift_per_run=declared.drift_per_run,
        drift_bound_per_run=declared.drift_bound_per_run,
        type_b_u=declared.type_b_u,
        margin=2.0,
        confidence=confidence,
    )


def both(number: int) -> tuple[Comparison, Decided]:
    """Decide one random case both ways."""
    rng = np.random.default_rng([20, number])
    order, losses, declared, confidence = random_case(rng, number)
    many = decide(losses[None, :], order, declared, Method(confidence=confidence))
    return one_by_one(order, losses, declared, confidence), many


def test_harness_and_package_agree_case_by_case() -> None:
    dropped = 0
    for number in range(CASES):
        one, many = both(number)
        assert many.estimate[0] == pytest.approx(one.estimate, **CLOSE), number
        assert many.lower[0] == pytest.approx(one.lower, **CLOSE), number
        assert many.upper[0] == pytest.approx(one.upper, **CLOSE), number
        assert many.scatter[0] == pytest.approx(one.repeatability, **CLOSE), number
        assert many.degrees[0] == pytest.approx(one.repeatability_dof, **CLOSE), number
        assert many.dropped[0] == ("archive_dropped" in one.tags), number
        passes = one.answer.value in ("no_loss_within_margin", "small_loss_inside_margin")
        assert many.passes(2.0)[0] == passes, number
        assert many.shows_loss()[0] == (one.lower > 0.0), number
        dropped += int(many.dropped[0])
    # Both branches of the check of the archive were taken.
    assert 50 < dropped < CASES / 2


@pytest.mark.parametrize("shape", SHAPES)
def test_harness_and_package_agree_on_whole_curves(shape: str) -> None:
    for number, order in enumerate(("ABA", "ABBA", "ABAB", "ABABAB", "ABBAAB") * 12):
        rng = np.random.default_rng([21, number])
        drawn = draw_curves(rng, order, SHAPES[shape], 1, loss=0.7)
        losses = np.ascontiguousarray(drawn.losses[0])
        flags = np.array([letter == "B" for letter in order])
        places, setup = np.arange(float(len(order))), ["one"] * len(order)
        archives = [
            Archive(standard_deviation=float(s), degrees_of_freedom=8.0) for s in drawn.s0[0]
        ]
        one = compare_curve(losses, flags, places, setup, archives=archives, margin=2.0)
        assert with_archives(drawn, 0.95).upper[0] == pytest.approx(one.upper, **CLOSE)
        assert with_archives(drawn, DRAWN).lower[0] == pytest.approx(one.drawn_lower, **CLOSE)
        located = with_archives(drawn, LOCATED).lower[0] > 0.0
        assert located.tolist() == one.located.tolist()
        if order == "ABA":
            continue
        one = compare_curve(losses, flags, places, setup, margin=2.0)
        # A correlation is a quotient of two sums: its last digits move the quantile's.
        assert pooled(drawn, 0.95).upper[0] == pytest.approx(one.upper, rel=1e-9)
        assert pooled(drawn, DRAWN).lower[0] == pytest.approx(one.drawn_lower, rel=1e-9)

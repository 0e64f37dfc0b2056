"""
Looks while runs are added: the figures that a plan prints, simulated anew.

Outside check: the figures come from an independent simulation; here numpy and scipy decide alone,
with every session's looks at once, one-sided 2 % each.
"""

import numpy as np
import pytest
from scipy import stats

from feedproof.evidence.plan.sequential import SEQUENTIAL

SESSIONS = 12_000


def sessions(
    loss: float, confidence: float, seed: int, order: str = SEQUENTIAL.order
) -> tuple[float, float]:
    """Give the share that passes at some look, and the mean number of runs."""
    noise = np.random.default_rng(seed)
    dof0, margin = SEQUENTIAL.archive_dof, SEQUENTIAL.margin_in_repeatabilities
    most = 2 * SEQUENTIAL.looks[-1]
    kit = np.array([float(each == "B") for each in order])
    values = noise.normal(size=(SESSIONS, most)) + loss * kit
    s0 = noise.chisquare(dof0, SESSIONS) / dof0
    passed, runs = np.zeros(SESSIONS, dtype=bool), np.full(SESSIONS, most)
    for look in SEQUENTIAL.looks:
        n = 2 * look
        x = np.stack([np.ones(n), kit[:n], np.arange(n) - (n - 1) / 2], axis=1)
        inverse = np.linalg.pinv(x)
        y = values[:, :n]
        beta = y @ inverse.T
        own = np.square(y - beta @ x.T).sum(axis=1)
        clash = stats.f.sf(own / (n - 3) / s0, n - 3, dof0) < 0.05
        variance = np.where(clash, own / (n - 3), (dof0 * s0 + own) / (dof0 + n - 3))
        nu = np.where(clash, n - 3, dof0 + n - 3)
        spread = np.sqrt(variance * (inverse[1] @ inverse[1]))
        now = beta[:, 1] + stats.t.ppf(confidence, nu) * spread < margin
        runs = np.where(now & ~passed, n, runs)
        passed |= now
    return float(passed.mean()), float(runs.mean())


def test_declared_looks_pass_a_loss_of_the_margin_as_often_as_printed() -> None:
    """Standard error 0.002."""
    passed, _ = sessions(SEQUENTIAL.margin_in_repeatabilities, SEQUENTIAL.confidence, seed=1)

    assert passed == pytest.approx(SEQUENTIAL.false_accept, abs=0.008)


def test_a_harmless_kit_passes_as_often_and_as_soon_as_printed() -> None:
    """Standard errors 0.003 and 0.02 runs."""
    passed, runs = sessions(0.0, SEQUENTIAL.confidence, seed=2)

    assert passed == pytest.approx(SEQUENTIAL.power, abs=0.015)
    assert runs == pytest.approx(SEQUENTIAL.mean_runs, abs=0.1)


def test_alternating_takes_a_little_longer() -> None:
    _, runs = sessions(0.0, SEQUENTIAL.confidence, seed=4, order="AB" * SEQUENTIAL.looks[-1])

    assert runs == pytest.approx(SEQUENTIAL.mean_runs_alternating, abs=0.1)


def test_the_same_looks_undeclared_pass_twice_as_many() -> None:
    passed, _ = sessions(SEQUENTIAL.margin_in_repeatabilities, 0.95, seed=3)

    assert passed == pytest.approx(SEQUENTIAL.undeclared_false_accept, abs=0.012)

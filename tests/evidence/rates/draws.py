"""Simulated sessions, archives and disturbances; every generator is seeded by its caller."""

import numpy as np
from numpy.typing import NDArray

from tests.evidence.rates.harness import Declared, flags_of

FloatArray = NDArray[np.float64]
ARCHIVE_DOF = 8.0


def sessions(
    rng: np.random.Generator,
    order: str,
    repeats: int,
    *,
    loss: float = 0.0,
    drift: float = 0.0,
    sd: float = 1.0,
) -> FloatArray:
    """Draw sessions: a loss of the candidate, a straight drift, scatter from run to run."""
    fixed = loss * flags_of(order) + drift * np.arange(len(order))
    return np.asarray(fixed + rng.normal(0.0, sd, (repeats, len(order))))


def archive(
    rng: np.random.Generator, repeats: int, *, sd: float = 1.0, nu0: float = ARCHIVE_DOF
) -> FloatArray:
    """Draw one archive figure for each session, as random as its degrees of freedom make it."""
    return np.asarray(sd * np.sqrt(rng.chisquare(nu0, repeats) / nu0))


def with_archive(rng: np.random.Generator, repeats: int, **changes: float) -> Declared:
    """Declare a random archive of eight degrees of freedom, with whatever else is declared."""
    nu0 = changes.pop("nu0", ARCHIVE_DOF)
    sd = changes.pop("sd", 1.0)
    return Declared(s0=archive(rng, repeats, sd=sd, nu0=nu0), nu0=nu0, **changes)


def shared(rng: np.random.Generator, setup: list[str], repeats: int, sd: float) -> FloatArray:
    """Draw what the opening of the plumbing does, the same for all runs of a set-up."""
    names = list(dict.fromkeys(setup))
    each = rng.normal(0.0, sd, (repeats, len(names)))
    return each[:, [names.index(name) for name in setup]]

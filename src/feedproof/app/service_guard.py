"""How far a prediction may be off: what check values and intervals keep from the limit."""

import math
from dataclasses import replace

import numpy as np

from feedproof.app.bands import predict_band
from feedproof.case.case import Case
from feedproof.kits.loading import Loader, allowed_dirt


def guarded(case: Case, kits: tuple[str, ...], loader: Loader) -> tuple[Loader, float]:
    """
    Raise the limit by what the prediction may be off where it is reached.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Kit ids.
    loader : Loader
        The line against the maker's own limit.

    Returns
    -------
    tuple of Loader and float
        The line against the limit and a guard, and the guard: half the width of the prediction's
        range at the deciding worst condition, with the dirt that reaches the limit there; 0 where
        the clean line breaks the limit anyway, and where no limit is known. [Pa]
    """
    if math.isnan(loader.limits.least_pressure_abs_pa):
        return loader, 0.0
    found = allowed_dirt(loader, case.worst)
    if found.dirt_kg is None:
        return loader, 0.0
    dirt = {} if found.unlimited else loader.masses(found.dirt_kg)
    top = np.array([case.pull.stop_m_per_s])
    at = replace(found.deciding, captured_mass_kg=dirt)
    _, low, high = predict_band(case, kits, top, at)
    guard = 0.5 * float(high[0] - low[0])
    least = loader.limits.least_pressure_abs_pa + guard
    return replace(loader, limits=loader.limits._replace(least_pressure_abs_pa=least)), guard

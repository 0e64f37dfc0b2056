"""Invented protection pictures for tests."""

import numpy as np

from feedproof.physics.size_bins import DEFAULT_EDGES_M, bin_middles
from feedproof.report.protection_model import ProtectionLine, ProtectionPicture

UNSTOPPED = (
    "petrol and other liquids that mix",
    "dissolved water",
    "additives",
    "soft matter that blocks early",
)


def passing(cut: float, slope: float, floor: float) -> np.ndarray:
    """Give three rows of a filter that lets half of one size pass."""
    sizes = 1e6 * np.array(bin_middles(DEFAULT_EDGES_M))
    typical = floor + (1.0 - floor) / (1.0 + (sizes / cut) ** slope)
    low = floor / 5.0 + (1.0 - floor / 5.0) / (1.0 + (sizes / (0.7 * cut)) ** (1.1 * slope))
    high = 2 * floor + (1.0 - 2 * floor) / (1.0 + (sizes / (1.4 * cut)) ** (0.9 * slope))
    return np.array([typical, low, high])


def protection() -> ProtectionPicture:
    """Give four configurations, the primary coarse and the secondary fine."""
    ones = np.ones((3, len(DEFAULT_EDGES_M) - 1))
    primary, secondary = passing(25.0, 3.0, 0.002), passing(2.6, 3.6, 0.004)
    return ProtectionPicture(
        title="Reference vehicle, clean elements, field assumptions",
        edges_m=DEFAULT_EDGES_M,
        lines=(
            ProtectionLine(name="no kit", relative=ones, water_carried=(0.62, 0.35, 0.95)),
            ProtectionLine(name="primary", relative=primary, water_carried=(0.05, 0.02, 0.21)),
            ProtectionLine(name="secondary", relative=secondary, water_carried=(0.62, 0.35, 0.95)),
            ProtectionLine(
                name="both", relative=primary * secondary, water_carried=(0.05, 0.02, 0.21)
            ),
        ),
        unstopped=UNSTOPPED,
    )


def five() -> ProtectionPicture:
    """Add a fifth one, of which water cannot be told and some bands have no particles."""
    plain = protection()
    relative = passing(1.6, 4.0, 0.0)
    relative[:, -1] = np.nan
    return ProtectionPicture(
        title=plain.title,
        edges_m=plain.edges_m,
        lines=(*plain.lines, ProtectionLine(name="double fine", relative=relative)),
        unstopped=plain.unstopped,
    )

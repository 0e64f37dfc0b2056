"""
Nonlinear regression data of the NIST Statistical Reference Datasets, lower difficulty.

Data from memory; they reproduce the certified values, which were seen in the folder NIST_STRD of
the source archive of lmfit 1.3.4.
"""

import numpy as np

MISRA_X = (
    77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8,
    378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0,
)  # fmt: skip
MISRA_Y = (
    10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02,
    44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78,
)  # fmt: skip
MISRA_STARTS = ((500.0, 1e-4), (250.0, 5e-4))
DANWOOD_X = (1.309, 1.471, 1.490, 1.565, 1.611, 1.680)
DANWOOD_Y = (2.138, 3.421, 3.597, 4.340, 4.882, 5.660)
DANWOOD_STARTS = ((1.0, 5.0), (0.7, 4.0))


def misra(points: np.ndarray) -> np.ndarray:
    """Give the residuals of b1 (1 - exp(-b2 x)) at many points."""
    b1, b2 = points[:, :1], points[:, 1:]
    return b1 * -np.expm1(-b2 * np.array(MISRA_X)) - np.array(MISRA_Y)


def danwood(points: np.ndarray) -> np.ndarray:
    """Give the residuals of b1 x^b2 at many points."""
    return points[:, :1] * np.array(DANWOOD_X) ** points[:, 1:] - np.array(DANWOOD_Y)

"""A log as channels in SI on its own clock, whatever file it came from."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from feedproof.case.run import Channel

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Log:
    """
    Channels of one file of one run.

    Parameters
    ----------
    instrument : str
        Id of the instrument that wrote it.
    name : str
        Name under which the file came.
    time_s : array, shape (n,)
        Seconds on the instrument's own clock, as written (not yet checked for gaps). [s]
    values : mapping of Channel to array, shape (n,)
        SI; NaN means not measured and never anything else.
    units : mapping of Channel to str
        Unit that each channel had in the file.
    """

    instrument: str
    name: str
    time_s: FloatArray
    values: Mapping[Channel, FloatArray]
    units: Mapping[Channel, str] = field(default_factory=dict)

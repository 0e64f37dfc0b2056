"""What an overlay is drawn from, by a report and by a screen that keeps it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.case.margin import Measure
from feedproof.case.run import Role
from feedproof.report.model import CurveBand, KitWords, Publication

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptRun:
    """
    A run's curve.

    Parameters
    ----------
    configuration : str
        What was in the line.
    role : Role
        What it was driven for.
    speed_m_per_s, wheel_power_w, depression_pa : array, shape (n_bins,)
        Means of the bins; NaN where nothing was measured. [m/s], [W], [Pa]
    """

    configuration: str
    role: Role
    speed_m_per_s: FloatArray
    wheel_power_w: FloatArray
    depression_pa: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPrediction:
    """
    A prediction's curve.

    Parameters
    ----------
    configuration : str
        What is in the line.
    speed_m_per_s, wheel_power_w : array, shape (n_points,)
        Along the pull. [m/s], [W]
    depression_pa, depression_low_pa, depression_high_pa : array, shape (n_points,)
        With its least and its most. [Pa]
    """

    configuration: str
    speed_m_per_s: FloatArray
    wheel_power_w: FloatArray
    depression_pa: FloatArray
    depression_low_pa: FloatArray
    depression_high_pa: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptCurves:
    """
    All that one overlay shows, in SI: a screen that keeps it can draw it in other units.

    Parameters
    ----------
    measure : Measure
        Of what.
    stop_m_per_s : float
        End of the pull. [m/s]
    kits : tuple of KitWords
        Words of each configuration that is drawn.
    places : tuple of int
        Place of each, in the same order.
    runs : tuple of KeptRun
        Of all sessions.
    predictions : tuple of KeptPrediction
        One for each configuration.
    bands : tuple of CurveBand
        Of this measure.
    """

    measure: Measure
    stop_m_per_s: float
    kits: tuple[KitWords, ...]
    places: tuple[int, ...]
    runs: tuple[KeptRun, ...]
    predictions: tuple[KeptPrediction, ...]
    bands: tuple[CurveBand, ...]

    def kit(self, configuration: str) -> KitWords:
        """
        Find a configuration's words.

        Parameters
        ----------
        configuration : str
            Its name.

        Returns
        -------
        KitWords
            As they were given.
        """
        return self.kits[self._index(configuration)]

    def place(self, configuration: str) -> int:
        """
        Give a configuration's place.

        Parameters
        ----------
        configuration : str
            Its name.

        Returns
        -------
        int
            0 for the baseline.
        """
        return self.places[self._index(configuration)]

    def _index(self, configuration: str) -> int:
        """Find a configuration."""
        return [each.configuration for each in self.kits].index(configuration)


def kept_curves(publication: Publication, measure: Measure) -> KeptCurves:
    """
    Take what one overlay shows out of a publication.

    Parameters
    ----------
    publication : Publication
        The report.
    measure : Measure
        Of what.

    Returns
    -------
    KeptCurves
        It draws the same picture.
    """
    bands = tuple(band for band in publication.bands if band.measure is measure)
    runs = tuple(
        KeptRun(
            configuration=run.configuration,
            role=run.role,
            speed_m_per_s=run.speed_m_per_s,
            wheel_power_w=run.wheel_power_w,
            depression_pa=run.depression_pa,
        )
        for run in publication.runs
    )
    predictions = tuple(
        KeptPrediction(
            configuration=each.configuration,
            speed_m_per_s=each.speed_m_per_s,
            wheel_power_w=each.wheel_power_w,
            depression_pa=each.depression_pa,
            depression_low_pa=each.depression_low_pa,
            depression_high_pa=each.depression_high_pa,
        )
        for each in publication.predictions
    )
    names = dict.fromkeys(
        (
            *(run.configuration for run in runs),
            *(each.configuration for each in predictions),
            *(band.configuration for band in bands),
        )
    )
    return KeptCurves(
        measure=measure,
        stop_m_per_s=publication.stop_m_per_s,
        # Known by the name in the line also where the report has no words of its own for it.
        kits=tuple(publication.kit(name) for name in names),
        places=tuple(publication.place(name) for name in names),
        runs=runs,
        predictions=predictions,
        bands=bands,
    )

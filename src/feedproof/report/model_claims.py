"""What a report is told of claims over the curve and of losses beside the model."""

from dataclasses import dataclass

from feedproof.case.margin import Measure


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveClaim:
    """
    Whether a loss is excluded at every speed, not only on average.

    Parameters
    ----------
    configuration : str
        Of which kit.
    measure : Measure
        Of what.
    holds : bool
        True when every band of speed passes on its own.
    sentence : str
        Which bands do not pass, in words.
    low_m_per_s, high_m_per_s : float or None
        Ends of the bands compared. [m/s]
    worst_upper_percent, worst_speed_m_per_s : float or None
        Highest upper limit of any band, and where. [%], [m/s]
    open_speed_m_per_s, loss_at_m_per_s : tuple of float
        Bands that do not exclude the margin; bands where a loss is shown, all looked at together.
        [m/s]
    scatter_from : str
        ``archive``, ``pooled`` or ``unknown``.
    degrees_of_freedom : float or None
        Of the bands' scatter. [-]
    session : str
        In which session.
    """

    configuration: str
    measure: Measure
    holds: bool
    sentence: str = ""
    low_m_per_s: float | None = None
    high_m_per_s: float | None = None
    worst_upper_percent: float | None = None
    worst_speed_m_per_s: float | None = None
    open_speed_m_per_s: tuple[float, ...] = ()
    loss_at_m_per_s: tuple[float, ...] = ()
    scatter_from: str = "unknown"
    degrees_of_freedom: float | None = None
    session: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelledLoss:
    """
    A measured loss beside the one that the described line predicts.

    Parameters
    ----------
    configuration : str
        Of which kit.
    measure : Measure
        Wheel power or caught return.
    measured_percent, measured_expanded_percent : float
        Best estimate and its two-sided 95 % uncertainty. [%]
    predicted_percent, predicted_low_percent, predicted_high_percent : float
        Predicted, with its range. [%]
    agrees : bool
        True when both ranges meet.
    sentence : str
        What it means.
    """

    configuration: str
    measure: Measure
    measured_percent: float
    measured_expanded_percent: float
    predicted_percent: float
    predicted_low_percent: float
    predicted_high_percent: float
    agrees: bool
    sentence: str

"""What is read by hand beside the logs: jugs, balances, and the air of the cell."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Jug:
    """
    A measure in which return fuel is caught by volume.

    Parameters
    ----------
    id, title : str
        Name in the case, and what it is.
    error_m3 : float
        Largest error of the measure. [m3]
    step_m3 : float
        Distance of two marks, or step of a display. [m3]
    by_eye : bool
        Marks read by eye; False for a display.
    left_over_m3 : float or None
        Most fuel left in hose and jug in one catch. [m3]
    reaction_s : float or None
        Standard uncertainty of starting, and of stopping, the watch. [s]
    temperature_error_k : float or None
        Largest error of the fuel's temperature. [K]
    """

    id: str
    title: str = ""
    error_m3: float
    step_m3: float
    by_eye: bool = True
    left_over_m3: float | None = None
    reaction_s: float | None = None
    temperature_error_k: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """
    A balance on which caught return fuel is weighed.

    Parameters
    ----------
    id, title : str
        Name in the case, and what it is.
    error_kg : float
        Largest error of the balance. [kg]
    step_kg : float
        Step of its display. [kg]
    left_over_kg : float or None
        Most fuel left in hose and jug in one catch. [kg]
    reaction_s : float or None
        Standard uncertainty of starting, and of stopping, the watch. [s]
    """

    id: str
    title: str = ""
    error_kg: float
    step_kg: float
    left_over_kg: float | None = None
    reaction_s: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AirSensors:
    """
    Barometer and thermometer of the cell.

    Parameters
    ----------
    id, title : str
        Name in the case, and what they are.
    pressure_error_pa : float
        Largest error of the air pressure. [Pa]
    temperature_error_k : float
        Largest error of the intake air's temperature, place included. [K]
    """

    id: str
    title: str = ""
    pressure_error_pa: float
    temperature_error_k: float


HandMeasure = Jug | Balance | AirSensors


@dataclass(frozen=True, slots=True, kw_only=True)
class Roller:
    """
    What is known of a roller's own errors.

    Parameters
    ----------
    torque_error_fraction, speed_error_fraction : float
        Largest errors of torque and speed, of the reading. [-]
    drift_fraction : float or None
        Most that its torque moves within a session. [-]
    """

    torque_error_fraction: float
    speed_error_fraction: float
    drift_fraction: float | None = None

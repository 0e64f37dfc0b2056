"""The parts of which a feed line is made, one frozen class for each kind."""

import math
from dataclasses import dataclass

from feedproof.case.supply import Rating, Separator


@dataclass(frozen=True, slots=True, kw_only=True)
class Pipe:
    """
    A straight tube or hose.

    Parameters
    ----------
    id : str
        Name, unique in the case.
    length_m, bore_m : float
        Length and inside diameter. [m]
    roughness_m : float
        Height of the wall's roughness; 0 is smooth. [m]
    collapse_depression_pa : float
        Local depression from which a soft hose narrows; infinite for a firm one. [Pa]
    collapse_span_pa : float
        Further depression over which it narrows to what is left of it. [Pa]
    collapsed_bore_fraction : float
        Bore that is left then, over the bore. [-]
    """

    id: str
    length_m: float
    bore_m: float
    roughness_m: float = 0.0
    collapse_depression_pa: float = math.inf
    collapse_span_pa: float = 10e3
    collapsed_bore_fraction: float = 0.5
    title: str = ""
    from_node: str | None = None
    to_node: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitting:
    """
    Connectors, banjos, bends: a two-constant loss K1/Re + K on the fitting's own bore.

    Parameters
    ----------
    id : str
        Name, unique in the case.
    count : int
        How many alike stand in the line. [-]
    bore_m : float
        Bore that the constants refer to. [m]
    laminar_coefficient : float
        K1, loss coefficient times Reynolds number as the flow vanishes. [-]
    turbulent_coefficient : float
        Loss coefficient of fully turbulent flow. [-]
    """

    id: str
    count: int
    bore_m: float
    laminar_coefficient: float
    turbulent_coefficient: float
    title: str = ""
    from_node: str | None = None
    to_node: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """
    A strainer or filter element with its housing.

    Parameters
    ----------
    id : str
        Name, unique in the case.
    role : str
        ``strainer``, ``factory``, ``primary`` or ``secondary``.
    media_resistance_per_m : float
        Resistance of the clean media. [1/m]
    face_area_m2 : float
        Area of the media. [m2]
    housing_viscous_per_m3 : float
        Viscous resistance of head and passages. [1/m3]
    housing_inertial_per_m4 : float
        Inertial resistance of head and passages. [1/m4]
    loading_scale_kg : float
        Captured mass that multiplies the media's resistance by e; infinite for one that is
        taken as never loading. [kg]
    volume_m3 : float
        Fuel that the housing holds, where gas has time to come out. [m3]
    loading_law : str
        How the resistance grows with the captured mass over the scale: ``intermediate`` (as
        said above), ``cake``, ``standard`` or ``complete``.
    rating : Rating or None
        How it filters; None when nobody declared it.
    separator : Separator or None
        How it takes out free water; None when it does not.
    """

    id: str
    role: str
    media_resistance_per_m: float
    face_area_m2: float
    housing_inertial_per_m4: float
    housing_viscous_per_m3: float = 0.0
    loading_scale_kg: float = math.inf
    volume_m3: float = 0.0
    loading_law: str = "intermediate"
    rating: Rating | None = None
    separator: Separator | None = None
    title: str = ""
    from_node: str | None = None
    to_node: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckValve:
    """
    Primer pump or check valves: a cracking pressure, then an inertial loss.

    Parameters
    ----------
    id : str
        Name, unique in the case.
    cracking_pressure_pa : float
        Difference at which it opens; it is lost at any flow. [Pa]
    inertial_per_m4 : float
        Inertial resistance when open. [1/m4]
    """

    id: str
    cracking_pressure_pa: float
    inertial_per_m4: float
    title: str = ""
    from_node: str | None = None
    to_node: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Orifice:
    """
    A square-edged plate of known loss, such as a positive control.

    Parameters
    ----------
    id : str
        Name, unique in the case.
    bore_m : float
        Bore of the plate. [m]
    pipe_bore_m : float
        Bore of the line it stands in. [m]
    discharge_coefficient : float
        Discharge coefficient. [-]
    """

    id: str
    bore_m: float
    pipe_bore_m: float
    discharge_coefficient: float
    title: str = ""
    from_node: str | None = None
    to_node: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftPump:
    """
    An electric pump in the line, running on its curve or standing still.

    Running it adds shut-off pressure x (1 - (flow/free flow)^exponent); stopped it is a passive
    inertial resistance in both directions.

    Parameters
    ----------
    id : str
        Name, unique in the case.
    shut_off_pressure_pa : float
        Difference that it holds without flow. [Pa]
    free_flow_m3_per_s : float
        Flow at which it adds nothing. [m3/s]
    curve_exponent : float
        Exponent of the curve, 1 or more. [-]
    stopped_inertial_per_m4 : float
        Inertial resistance of the pump when it stands. [1/m4]
    running : bool
        False when it is switched off.
    """

    id: str
    shut_off_pressure_pa: float
    free_flow_m3_per_s: float
    curve_exponent: float
    stopped_inertial_per_m4: float
    running: bool = True
    title: str = ""
    from_node: str | None = None
    to_node: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cooler:
    """
    A fuel cooler, usually in the return line.

    Parameters
    ----------
    id : str
        Name, unique in the case.
    viscous_per_m3, inertial_per_m4 : float
        Viscous and inertial resistance. [1/m3], [1/m4]
    effectiveness_fraction : float
        Fall of the fuel's temperature over its distance to that of the air. [-]
    """

    id: str
    viscous_per_m3: float
    inertial_per_m4: float
    effectiveness_fraction: float = 0.0
    title: str = ""
    from_node: str | None = None
    to_node: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AirHole:
    """
    A leak that draws air wherever the line stands below ambient: a fault to be told apart.

    Parameters
    ----------
    id : str
        Name, unique in the case.
    hole_diameter_m : float
        Diameter of a round hole of the same area. [m]
    discharge_coefficient : float
        0.61 for a sharp edge. [-]
    """

    id: str
    hole_diameter_m: float
    discharge_coefficient: float = 0.61
    title: str = ""
    from_node: str | None = None
    to_node: str | None = None


Part = Pipe | Fitting | Element | CheckValve | Orifice | LiftPump | Cooler | AirHole

"""
The feed line: ordered parts from the tank to the pump inlet, and kits that are let into it.

Every part has an ``id`` and may name the nodes it joins (``from_node``, ``to_node``); without
them it joins its neighbours in the chain.
"""

import math
from dataclasses import dataclass, replace


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
    """

    id: str
    length_m: float
    bore_m: float
    roughness_m: float = 0.0
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
    """

    id: str
    role: str
    media_resistance_per_m: float
    face_area_m2: float
    housing_inertial_per_m4: float
    housing_viscous_per_m3: float = 0.0
    loading_scale_kg: float = math.inf
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


Part = Pipe | Fitting | Element | CheckValve | Orifice | LiftPump


@dataclass(frozen=True, slots=True, kw_only=True)
class Recirculation:
    """
    Thermostatic return: a share of the pump's return is led back into the feed line when cold.

    Parameters
    ----------
    to_node : str
        Node of the feed line that it enters, usually ahead of the factory filter.
    cold_fraction, warm_fraction : float
        Share of the return at and below the lower temperature, at and above the upper one. [-]
    cold_temperature_k, warm_temperature_k : float
        Ends of the thermostat's stroke; the share changes linearly between them. [K]
    """

    to_node: str
    cold_fraction: float
    warm_fraction: float
    cold_temperature_k: float
    warm_temperature_k: float

    def fraction_at(self, fuel_temperature_k: float) -> float:
        """
        Give the share of the return that is led back.

        Parameters
        ----------
        fuel_temperature_k : float
            Temperature of the fuel at the thermostat. [K]

        Returns
        -------
        float
            Share, 0 to 1. [-]
        """
        stroke = (fuel_temperature_k - self.cold_temperature_k) / (
            self.warm_temperature_k - self.cold_temperature_k
        )
        stroke = min(max(stroke, 0.0), 1.0)
        return self.cold_fraction + stroke * (self.warm_fraction - self.cold_fraction)


@dataclass(frozen=True, slots=True, kw_only=True)
class Insertion:
    """
    Parts of a kit and the place in the line where they go.

    Parameters
    ----------
    place : str
        Id of the part of the line that they stand next to.
    side : str
        ``before`` (tank side) or ``after`` (pump side).
    parts : tuple of Part
        The parts in the order of flow.
    """

    place: str
    side: str
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """
    An add-on kit: one or more insertions into the line.

    Parameters
    ----------
    id : str
        Name, unique in the case.
    title : str
        What it is, in words.
    insertions : tuple of Insertion
        Where its parts go.
    control : bool
        True for a positive control, which is no kit but a loss put in on purpose.
    """

    id: str
    title: str
    insertions: tuple[Insertion, ...]
    control: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """
    The parts from tank to pump inlet in the order of flow.

    Parameters
    ----------
    parts : tuple of Part
        In the order of flow.
    """

    parts: tuple[Part, ...]

    def index(self, part_id: str) -> int:
        """
        Find a part's position.

        Parameters
        ----------
        part_id : str
            Id of the part.

        Returns
        -------
        int
            Position from the tank, from 0.

        Raises
        ------
        KeyError
            The line has no such part.
        """
        for position, part in enumerate(self.parts):
            if part.id == part_id:
                return position
        raise KeyError(part_id)

    def with_kit(self, kit: Kit) -> "Line":
        """
        Let a kit's parts into the line.

        Parameters
        ----------
        kit : Kit
            The kit; its places may be parts of the factory line or of a kit let in before.

        Returns
        -------
        Line
            A new line; this one is unchanged.

        Raises
        ------
        KeyError
            A place that the line does not have.
        """
        parts = list(self.parts)
        for insertion in kit.insertions:
            position = Line(parts=tuple(parts)).index(insertion.place)
            # A second kit "after" the same part goes on the pump side of the first only if it
            # says so by naming the first kit's part.
            start = position if insertion.side == "before" else position + 1
            parts[start:start] = insertion.parts
        return replace(self, parts=tuple(parts))

    def with_kits(self, kits: tuple[Kit, ...] | list[Kit]) -> "Line":
        """
        Let several kits in, in the order given.

        Parameters
        ----------
        kits : sequence of Kit
            Kits in order.

        Returns
        -------
        Line
            A new line.
        """
        line = self
        for kit in kits:
            line = line.with_kit(kit)
        return line

    @property
    def elements(self) -> tuple[Element, ...]:
        """Give the filter elements in the order of flow."""
        return tuple(part for part in self.parts if isinstance(part, Element))

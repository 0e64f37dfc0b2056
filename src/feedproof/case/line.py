"""
The feed line: ordered parts from the tank to the pump inlet, and kits that are let into it.

Every part has an ``id`` and may name the nodes it joins (``from_node``, ``to_node``); without
them it joins its neighbours in the chain.
"""

from dataclasses import dataclass, replace

from feedproof.case.parts import Element, Part


@dataclass(frozen=True, slots=True, kw_only=True)
class Tee:
    """
    A tee piece at a node where three parts meet; its losses follow the split of the flow.

    Parameters
    ----------
    node : str
        Name of the node.
    bore_m : float
        Bore of the tee, alike on its three legs. [m]
    branch : str
        Id of a part on the side leg, up to the next node; the other two legs stand in line.
    """

    node: str
    bore_m: float
    branch: str


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
            before = insertion.side == "before"
            parts[position : position + 1] = _beside(parts[position], insertion.parts, before)
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


def _beside(place: Part, added: tuple[Part, ...], before: bool) -> tuple[Part, ...]:
    """Let parts in next to one; the named node at that end moves on to the outermost of them."""
    if before:
        if place.from_node is not None and added[0].from_node is None:
            added = (replace(added[0], from_node=place.from_node), *added[1:])
            place = replace(place, from_node=None)
        return (*added, place)
    if place.to_node is not None and added[-1].to_node is None:
        added = (*added[:-1], replace(added[-1], to_node=place.to_node))
        place = replace(place, to_node=None)
    return (place, *added)

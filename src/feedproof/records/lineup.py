"""The names that a document gives to its parts, kits, fuels and instruments, for cross checks."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from feedproof.core.findings import Finding
from feedproof.records.mistakes import Places, did_you_mean
from feedproof.records.places import Location
from feedproof.records.quantity import shown
from feedproof.records.raw_tables import Table, entries, named, number, table, text


@dataclass(frozen=True, slots=True, kw_only=True)
class KitNames:
    """
    What a kit brings and where.

    Parameters
    ----------
    insertions : tuple
        For each insertion the places it names and the ids of its parts.
    elements : frozenset of str
        Ids of its filter elements.
    """

    insertions: tuple[tuple[str, tuple[str, ...]], ...]
    elements: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lineup:
    """
    Names of a document.

    Parameters
    ----------
    part_places : list of tuple
        Every part of lines and kits with where it stands.
    line_parts, line_elements : frozenset of str
        Ids of the feed line.
    kits : dict of str to KitNames
        By id.
    fuels, instruments : frozenset of str
        Names.
    never_loading : frozenset of str
        Elements without a loading scale.
    capacity_m3 : float or None
        Of the tank.
    """

    part_places: list[tuple[Location, str]]
    line_parts: frozenset[str]
    line_elements: frozenset[str]
    kits: dict[str, KitNames]
    fuels: frozenset[str]
    instruments: frozenset[str]
    never_loading: frozenset[str]
    capacity_m3: float | None

    @classmethod
    def of(cls, document: Table) -> "Lineup":
        """
        Collect the names of a document as it stands.

        Parameters
        ----------
        document : mapping
            As read from TOML.

        Returns
        -------
        Lineup
            What can be read.
        """
        line = list(entries(document, "line"))
        everything = [*line, *entries(document, "return"), *kit_parts(document)]
        return cls(
            part_places=[(at, name) for at, part in everything if (name := text(part, "id"))],
            line_parts=_ids(part for _, part in line),
            line_elements=_ids(part for _, part in line if part.get("kind") == "element"),
            kits={
                name: _kit_names(kit)
                for _, kit in entries(document, "kit")
                if (name := text(kit, "id"))
            },
            fuels=frozenset(name for _, name, _ in named(document, "fuel")),
            instruments=frozenset(name for _, name, _ in named(document, "instrument")),
            never_loading=_ids(
                part
                for _, part in everything
                if part.get("kind") == "element" and "loading_scale" not in part
            ),
            capacity_m3=number(table(document, "vehicle", "tank"), "capacity", "volume"),
        )

    @property
    def kit_places(self) -> frozenset[str]:
        """Give every id that a kit may stand next to."""
        of_kits = (name for kit in self.kits.values() for _, ids in kit.insertions for name in ids)
        return self.line_parts | frozenset(of_kits)

    @property
    def all_elements(self) -> frozenset[str]:
        """Give the elements of the line and of all kits."""
        return self.line_elements.union(*(kit.elements for kit in self.kits.values()))

    def elements_with(self, kit_ids: Iterable[str]) -> frozenset[str]:
        """Give the elements of the line with kits let in."""
        return self.line_elements.union(
            *(self.kits[name].elements for name in kit_ids if name in self.kits)
        )

    def missing_place(self, kit_ids: Iterable[str]) -> tuple[str, str] | None:
        """Give the first kit, in the order let in, whose place is not there yet, and the place."""
        there = set(self.line_parts)
        for name in kit_ids:
            for place, ids in self.kits[name].insertions if name in self.kits else ():
                # A place that no line ever has is reported at the kit.
                if place not in there and place in self.kit_places:
                    return name, place
                there.update(ids)
        return None

    def check_fuel(self, holder: Table, location: Location, places: Places) -> Iterator[Finding]:
        """Find a fuel that the case does not have."""
        fuel = text(holder, "fuel")
        if fuel is not None and fuel not in self.fuels:
            yield places.error(
                (*location, "fuel"),
                f"the case has no fuel {shown(fuel)}.",
                did_you_mean(fuel, self.fuels),
            )

    def check_level(self, holder: Table, location: Location, places: Places) -> Iterator[Finding]:
        """Find a volume that the tank does not hold."""
        volume = number(holder, "fuel_level", "volume")
        if volume is not None and self.capacity_m3 and volume > self.capacity_m3:
            yield places.error(
                (*location, "fuel_level"),
                f"{volume * 1e3:.1f} L is more than the tank holds,"
                f" {self.capacity_m3 * 1e3:.1f} L.",
                "Check the level or vehicle.tank.capacity.",
            )

    def check_loading(
        self, holder: Table, location: Location, elements: frozenset[str], places: Places
    ) -> Iterator[Finding]:
        """Find loadings of what is no element, and loadings that can have no effect."""
        for name in table(holder, "loading"):
            if name not in elements:
                yield places.error(
                    (*location, "loading", name),
                    f"{shown(name)} is no element of this line.",
                    did_you_mean(name, elements),
                )
            elif name in self.never_loading:
                yield places.warning(
                    (*location, "loading", name),
                    f"element {shown(name)} has no loading_scale, so its loading changes nothing.",
                    "Give the element a loading_scale, or leave the loading out.",
                )


def kit_parts(document: Table) -> Iterator[tuple[Location, Table]]:
    """
    Go through the parts of all kits.

    Parameters
    ----------
    document : mapping
        As read from TOML.

    Yields
    ------
    tuple of location and mapping
        Each part with where it stands.
    """
    for at_kit, kit in entries(document, "kit"):
        for at_insertion, insertion in entries(kit, "insertion", at_kit):
            yield from entries(insertion, "part", at_insertion)


def _kit_names(kit: Table) -> KitNames:
    """Collect what one kit brings."""
    insertions = []
    elements: frozenset[str] = frozenset()
    for _, insertion in entries(kit, "insertion"):
        parts = [part for _, part in entries(insertion, "part")]
        place = text(insertion, "before") or text(insertion, "after") or ""
        insertions.append((place, tuple(sorted(_ids(parts)))))
        elements |= _ids(part for part in parts if part.get("kind") == "element")
    return KitNames(insertions=tuple(insertions), elements=elements)


def _ids(parts: Iterable[Table]) -> frozenset[str]:
    """Give the ids of parts."""
    return frozenset(name for part in parts if (name := text(part, "id")))

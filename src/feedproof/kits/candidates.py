"""
Candidates: what a catalogue of elements, heads, hoses and fittings can be put together to.

The space is small, so all of it is made: no kit, every primary, every secondary and every pair, in
every place, with every hose and number of fittings (docs/decisions/0014).
"""

from dataclasses import dataclass, replace
from enum import StrEnum

from feedproof.case.line import Insertion, Kit, Line
from feedproof.case.parts import Element, Fitting, Part, Pipe
from feedproof.core.errors import InputError

FITTING_COUNTS = (4, 6)
"""Fittings of one added filter: four hose ends, and two elbows more where it cannot be reached
straight: common practice. [-]"""
SEALS = 1
"""Joint of an element on its head, which is under depression like every fitting. [-]"""


class Kind(StrEnum):
    """What a candidate adds."""

    NONE = "none"
    PRIMARY = "primary"
    SECONDARY = "secondary"
    BOTH = "both"


@dataclass(frozen=True, slots=True, kw_only=True)
class FilterItem:
    """
    An element of a catalogue on its head.

    Parameters
    ----------
    id, title : str
        Name and words.
    element : Element
        With the head's resistance; its role is ``primary`` or ``secondary``.
    media_low_per_m, media_high_per_m : float
        Range of the media's resistance. [1/m]
    head_cost, element_cost : float
        Cost of the head, and of each element. [-]
    space_m3 : float
        Room that it takes on the vehicle. [m3]
    """

    id: str
    title: str
    element: Element
    media_low_per_m: float
    media_high_per_m: float
    head_cost: float
    element_cost: float
    space_m3: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HoseItem:
    """
    A hose with the fittings that go on it.

    Parameters
    ----------
    id : str
        Name.
    bore_m : float
        Bore of the hose. [m]
    cost_per_m : float
        Cost of a metre. [1/m]
    fitting : Fitting
        One of its fittings.
    fitting_cost : float
        Cost of one. [-]
    """

    id: str
    bore_m: float
    cost_per_m: float
    fitting: Fitting
    fitting_cost: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceItem:
    """
    A place for a filter.

    Parameters
    ----------
    id, title : str
        Name and words.
    role : str
        ``primary`` or ``secondary``.
    hose_length_m : float
        Hose that it takes, there and back. [m]
    """

    id: str
    title: str
    role: str
    hose_length_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalogue:
    """
    What can be put together.

    Parameters
    ----------
    name : str
        Where it comes from.
    invented : bool
        True for the packaged one, whose figures stand for no product.
    filters : tuple of FilterItem
        Elements on their heads.
    hoses : tuple of HoseItem
        With their fittings.
    places : tuple of PlaceItem
        Where filters can go.
    """

    name: str
    invented: bool
    filters: tuple[FilterItem, ...]
    hoses: tuple[HoseItem, ...]
    places: tuple[PlaceItem, ...]

    def joined(self, other: "Catalogue") -> "Catalogue":
        """
        Add another catalogue's items, which replace those of the same name.

        Parameters
        ----------
        other : Catalogue
            What is added.

        Returns
        -------
        Catalogue
            Both.
        """
        return Catalogue(
            name=f"{self.name} and {other.name}",
            invented=self.invented or other.invented,
            filters=tuple({each.id: each for each in (*self.filters, *other.filters)}.values()),
            hoses=tuple({each.id: each for each in (*self.hoses, *other.hoses)}.values()),
            places=tuple({each.id: each for each in (*self.places, *other.places)}.values()),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """
    One filter as it would be fitted.

    Parameters
    ----------
    item : FilterItem
        The filter.
    place : PlaceItem
        Where.
    hose : HoseItem
        With what hose.
    fittings : int
        How many fittings.
    """

    item: FilterItem
    place: PlaceItem
    hose: HoseItem
    fittings: int

    @property
    def element_id(self) -> str:
        """Give the name of its element in a line."""
        return f"{self.item.element.role}_{self.item.id}"

    @property
    def cost(self) -> float:
        """Give what is bought for it: head, element, hose, fittings. [-]."""
        hose = self.hose.cost_per_m * self.place.hose_length_m
        return (
            self.item.head_cost
            + self.item.element_cost
            + hose
            + self.fittings * self.hose.fitting_cost
        )

    @property
    def joints(self) -> int:
        """Give the joints under depression that it adds. [-]."""
        return self.fittings + SEALS

    @property
    def parts(self) -> tuple[Part, ...]:
        """Give its parts in the order of flow."""
        name = self.item.element.role
        return (
            replace(self.item.element, id=self.element_id, title=self.item.title),
            Pipe(
                id=f"{name}_added_hose",
                length_m=self.place.hose_length_m,
                bore_m=self.hose.bore_m,
                title=f"hose of the {name}",
            ),
            replace(
                self.hose.fitting,
                id=f"{name}_added_fittings",
                count=self.fittings,
                title=f"fittings of the {name}",
            ),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """
    No kit, or one or two filters.

    Parameters
    ----------
    fitted : tuple of Fitted
        Primary first; empty for no kit.
    """

    fitted: tuple[Fitted, ...]

    @property
    def kind(self) -> Kind:
        """Say what it adds."""
        if not self.fitted:
            return Kind.NONE
        return Kind.BOTH if len(self.fitted) == 2 else Kind(self.fitted[0].item.element.role)

    @property
    def elements(self) -> tuple[str, ...]:
        """Name its catalogue elements, whatever hose they hang on."""
        return tuple(each.item.id for each in self.fitted)

    @property
    def id(self) -> str:
        """Give its name, the same however the catalogue is ordered."""
        if not self.fitted:
            return Kind.NONE.value
        filters = "+".join(f"{each.item.id}@{each.place.id}" for each in self.fitted)
        return f"{filters}/{self.fitted[0].hose.id}x{self.fitted[0].fittings}"

    @property
    def cost(self) -> float:
        """Give what is bought. [-]."""
        return sum(each.cost for each in self.fitted)

    @property
    def joints(self) -> int:
        """Give the joints under depression that it adds. [-]."""
        return sum(each.joints for each in self.fitted)

    @property
    def space_m3(self) -> float:
        """Give the room that it takes. [m3]."""
        return sum(each.item.space_m3 for each in self.fitted)

    def kit(self, factory: str) -> Kit | None:
        """
        Give it as a kit of the case.

        Parameters
        ----------
        factory : str
            Id of the factory element: a primary stands before it, a secondary behind.

        Returns
        -------
        Kit or None
            None for no kit.
        """
        if not self.fitted:
            return None
        return Kit(
            id=self.id,
            title=" and ".join(each.item.title for each in self.fitted),
            insertions=tuple(
                Insertion(
                    place=factory,
                    side="before" if each.item.element.role == "primary" else "after",
                    parts=each.parts,
                )
                for each in self.fitted
            ),
        )


def factory_element(line: Line) -> Element:
    """
    Find the factory element, which primaries stand before and secondaries behind.

    Parameters
    ----------
    line : Line
        Without a kit.

    Returns
    -------
    Element
        Of the role ``factory``.

    Raises
    ------
    InputError
        There is none, or more than one.
    """
    found = [each for each in line.elements if each.role == "factory"]
    if len(found) != 1:
        raise InputError.at(
            "line",
            f"has {len(found)} elements of the role 'factory'; choose puts a primary before one"
            " and a secondary behind it.",
            "Give the role 'factory' to the vehicle maker's filter and to no other element.",
        )
    return found[0]


def candidates_of(catalogue: Catalogue) -> tuple[Candidate, ...]:
    """
    Put every candidate together.

    Parameters
    ----------
    catalogue : Catalogue
        What there is.

    Returns
    -------
    tuple of Candidate
        By name, whatever the order of the catalogue; a pair has one hose and one number of
        fittings for both filters.
    """
    made = [Candidate(fitted=())]
    for hose in catalogue.hoses:
        for count in FITTING_COUNTS:
            fitted = {
                role: [
                    Fitted(item=item, place=place, hose=hose, fittings=count)
                    for item in catalogue.filters
                    if item.element.role == role
                    for place in catalogue.places
                    if place.role == role
                ]
                for role in ("primary", "secondary")
            }
            made += [Candidate(fitted=(each,)) for row in fitted.values() for each in row]
            made += [
                Candidate(fitted=(one, other))
                for one in fitted["primary"]
                for other in fitted["secondary"]
            ]
    return tuple(sorted(made, key=lambda each: each.id))

"""Items of a catalogue, and how they are put together to what a candidate is made of."""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field

from feedproof.case.parts import Element, Fitting
from feedproof.case.supply import (
    BYPASS_FRACTION,
    FIELD_SIZE_FACTOR,
    FIELD_SLOPE_FACTOR,
    Rating,
    RatingPoint,
    Separator,
)
from feedproof.core.errors import InputError
from feedproof.kits import candidates as made
from feedproof.kits.filters import curve_of

RATIO = re.compile(r"ratio at\s+(?P<size>[0-9]+(?:\.[0-9]+)?)\s*(?P<scale>\S*)")
SCALES = {"um(c)": True, "µm(c)": True, "um": False, "µm": False}
KINDS = ("place", "hose", "fitting", "head", "element")
Fault = Callable[..., None]


@dataclass(slots=True)
class Cell:
    """One property as it stands in the file, and as it was read."""

    place: str
    value: str
    unit: str
    low: str
    high: str
    source: str
    number: float = math.nan
    low_number: float = math.nan
    high_number: float = math.nan


@dataclass(slots=True)
class Item:
    """One item with its properties."""

    name: str
    place: str
    cells: dict[str, Cell] = field(default_factory=dict)

    @property
    def invented(self) -> bool:
        """Say whether a figure of it is invented."""
        return any("invented" in cell.source.lower() for cell in self.cells.values())

    def word(self, key: str, default: str = "") -> str:
        """Give a word."""
        return self.cells[key].value if key in self.cells else default

    def number(self, key: str, default: float = 0.0) -> float:
        """Give a number in SI."""
        return self.cells[key].number if key in self.cells else default


def assembled(items: dict[str, Item], name: str, fault: Fault) -> made.Catalogue:
    """
    Put checked items together.

    Parameters
    ----------
    items : dict of str to Item
        By name.
    name : str
        Of the catalogue.
    fault : callable
        Told where items do not fit each other.

    Returns
    -------
    Catalogue
        What candidates are made of.
    """
    heads = {name: item for name, item in items.items() if item.word("kind") == "head"}
    of_kind = {
        kind: [item for item in items.values() if item.word("kind") == kind] for kind in KINDS
    }
    filters = tuple(
        each for item in of_kind["element"] if (each := _filter(item, heads, fault)) is not None
    )
    return made.Catalogue(
        name=name,
        invented=any(item.invented for item in items.values()),
        filters=filters,
        hoses=_hoses(of_kind["hose"], of_kind["fitting"], fault),
        places=tuple(
            made.PlaceItem(
                id=item.name,
                title=item.word("title", item.name.replace("_", " ")),
                role=item.word("role"),
                hose_length_m=item.number("hose_length"),
            )
            for item in of_kind["place"]
        ),
    )


def _hoses(hoses: list[Item], fittings: list[Item], fault: Fault) -> tuple[made.HoseItem, ...]:
    """Join hoses and their fittings."""
    by_hose = {item.word("hose"): item for item in fittings}
    for name, item in by_hose.items():
        if name not in {hose.name for hose in hoses}:
            fault(item.place, item.name, f"goes on a hose {name!r} that there is not.")
    found = []
    for hose in hoses:
        fitting = by_hose.get(hose.name)
        if fitting is None:
            fault(hose.place, hose.name, "has no fitting.", "Add one with this hose.")
            continue
        found.append(
            made.HoseItem(
                id=hose.name,
                bore_m=hose.number("bore"),
                cost_per_m=hose.number("cost"),
                fitting=Fitting(
                    id=fitting.name,
                    count=1,
                    bore_m=fitting.number("bore"),
                    laminar_coefficient=fitting.number("laminar_coefficient"),
                    turbulent_coefficient=fitting.number("turbulent_coefficient"),
                ),
                fitting_cost=fitting.number("cost"),
            )
        )
    return tuple(found)


def _filter(item: Item, heads: dict[str, Item], fault: Fault) -> made.FilterItem | None:
    """Make an element on its head."""
    head = heads.get(item.word("head"))
    if head is None:
        fault(
            item.cells["head"].place,
            f"{item.name}.head",
            f"there is no head {item.word('head')!r}.",
            f"There are: {', '.join(heads) or 'none'}.",
        )
        return None
    rating = _rating(item)
    try:
        curve_of(rating, item.name)
    except InputError as wrong:
        fault(item.place, item.name, wrong.findings[0].message, "Correct the ratios.")
        return None
    media = item.cells["media_resistance"]
    title = item.word("title", item.name.replace("_", " "))
    element = Element(
        id=item.name,
        role=item.word("role"),
        title=title,
        media_resistance_per_m=media.number,
        face_area_m2=item.number("face_area"),
        housing_inertial_per_m4=head.number("housing_inertial"),
        housing_viscous_per_m3=head.number("housing_viscous"),
        loading_scale_kg=item.number("loading_scale"),
        loading_law=item.word("loading_law", "intermediate"),
        rating=rating,
        separator=_separator(item),
    )
    return made.FilterItem(
        id=item.name,
        title=title,
        element=element,
        media_low_per_m=media.number if math.isnan(media.low_number) else media.low_number,
        media_high_per_m=media.number if math.isnan(media.high_number) else media.high_number,
        head_cost=head.number("cost"),
        element_cost=item.number("cost"),
        space_m3=head.number("space"),
    )


def _rating(item: Item) -> Rating:
    """Make a rating; what the vehicle does to it nobody declares in a catalogue."""
    points = []
    for key, cell in item.cells.items():
        found = RATIO.fullmatch(key)
        if found:
            size = 1e-6 * float(found["size"])
            points.append(
                RatingPoint(size_m=size, ratio=cell.number, calibrated=SCALES[found["scale"]])
            )
    return Rating(
        points=tuple(sorted(points, key=lambda each: each.size_m)),
        source="; ".join(sorted({item.cells[key].source for key in item.cells if "ratio" in key})),
        field_size_factor=FIELD_SIZE_FACTOR,
        field_slope_factor=FIELD_SLOPE_FACTOR,
        bypass_fraction=BYPASS_FRACTION,
        assumed=("field_size_factor", "field_slope_factor", "bypass"),
    )


def _separator(item: Item) -> Separator | None:
    """Make a separator, where the element is one."""
    if "water_efficiency" not in item.cells:
        return None
    return Separator(
        efficiency_fraction=item.number("water_efficiency"),
        droplet_m=item.number("droplet"),
        flow_m3_per_s=item.number("water_flow"),
        side="suction",
        bowl_m3=item.number("bowl"),
        sensor_m3=item.number("sensor") if "sensor" in item.cells else None,
        source=item.cells["water_efficiency"].source,
    )

"""
Catalogues of parts: the packaged generic one, and a workshop's own, as CSV in long form.

One line is one property of one item, with its unit, range and source.  All mistakes of a file are
told at once, each with its line.
"""

import csv
import io
from pathlib import Path

from feedproof.core.errors import InputError, MissingError
from feedproof.core.findings import Finding, error
from feedproof.kits import candidates as made
from feedproof.kits.candidates import Catalogue
from feedproof.records.catalogue_items import RATIO, SCALES, Cell, Item, assembled
from feedproof.records.mistakes import did_you_mean
from feedproof.records.quantity import Quantity, read_number, shown

COLUMNS = ("item", "property", "value", "unit", "low", "high", "source", "where", "note")
GENERIC = Path(made.__file__).parent / "catalogue" / "generic.csv"
MOST_BYTES = 2_000_000
COST = Quantity("number", "0", "1e6")
WORDS = {
    "kind": ("element", "head", "hose", "fitting", "place"),
    "role": ("primary", "secondary"),
    "loading_law": ("intermediate", "cake", "standard", "complete"),
    "title": (),
    "head": (),
    "hose": (),
}
"""Properties that hold a word; those without a list hold any."""
NEEDED: dict[str, dict[str, Quantity | None]] = {
    "place": {"role": None, "hose_length": Quantity("length", "0.05 m", "20 m")},
    "hose": {"bore": Quantity("length", "3 mm", "30 mm"), "cost": COST},
    "fitting": {
        "hose": None,
        "bore": Quantity("length", "2 mm", "30 mm"),
        "laminar_coefficient": Quantity("number", "0", "1e5"),
        "turbulent_coefficient": Quantity("number", "0", "100"),
        "cost": COST,
    },
    "head": {
        "housing_inertial": Quantity("inertial", "0 1/m^4", "1e13 1/m^4"),
        "space": Quantity("volume", "0.01 L", "100 L"),
        "cost": COST,
    },
    "element": {
        "role": None,
        "head": None,
        "media_resistance": Quantity("per_length", "1e6 1/m", "1e12 1/m"),
        "face_area": Quantity("area", "1 cm^2", "20 m^2"),
        "loading_scale": Quantity("mass", "0.01 g", "10 kg"),
        "cost": COST,
    },
}
SEPARATOR: dict[str, Quantity] = {
    "water_efficiency": Quantity("fraction", "0 %", "99.99 %", above_low=True),
    "droplet": Quantity("length", "1 um", "2000 um"),
    "water_flow": Quantity("flow", "1 L/h", "5000 L/h"),
    "bowl": Quantity("volume", "1 mL", "20 L"),
}
SENSOR = Quantity("volume", "1 mL", "20 L")
OPTIONAL: dict[str, dict[str, Quantity | None]] = {
    "head": {"housing_viscous": Quantity("per_volume", "0 1/m^3", "1e15 1/m^3")},
    "element": {"loading_law": None, "sensor": SENSOR, **SEPARATOR},
}


def generic_catalogue() -> Catalogue:
    """
    Give the packaged catalogue of invented parts.

    Returns
    -------
    Catalogue
        For a workshop without one of its own.
    """
    return _put_together([GENERIC])


def read_catalogue(file: Path) -> Catalogue:
    """
    Read a workshop's catalogue beside the generic one.

    Parameters
    ----------
    file : Path
        CSV in UTF-8 with the columns of `COLUMNS`; its items replace generic ones of the same
        name, and may hang on generic heads, hoses and fittings.

    Returns
    -------
    Catalogue
        Both.

    Raises
    ------
    MissingError
        No such file.
    InputError
        With every mistake of the file.
    """
    if not file.is_file():
        raise MissingError.at("--catalogue", f"there is no file {file}.", "Give a CSV file.")
    if file.stat().st_size > MOST_BYTES:
        raise InputError.at("--catalogue", f"{file} is larger than {MOST_BYTES} bytes.")
    try:
        text = file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as fault:
        raise InputError.at(str(file), f"is no text in UTF-8: {fault}.", "Save it so.") from fault
    return _put_together([GENERIC, file], text)


def _put_together(files: list[Path], own: str | None = None) -> Catalogue:
    """Read the packaged file and, where there is one, the workshop's text behind it."""
    reader = _Reader()
    items: dict[str, Item] = {}
    for file in files:
        text = file.read_text(encoding="utf-8") if file == GENERIC or own is None else own
        found = reader.items(file.name, text)
        for item in found.values():
            reader.check(item)
        items |= found
    if not reader.faults:
        catalogue = assembled(items, " and ".join(file.name for file in files), reader.fault)
        if not reader.faults:
            return catalogue
    raise InputError(reader.faults)


class _Reader:
    """Collects the mistakes of catalogues."""

    def __init__(self) -> None:
        self.faults: list[Finding] = []

    def fault(self, place: str, what: str, message: str, remedy: str = "") -> None:
        """Note a mistake."""
        self.faults.append(error(f"{place}: {what}", message, remedy))

    def items(self, name: str, text: str) -> dict[str, Item]:
        """Sort lines by item."""
        items: dict[str, Item] = {}
        lines = [
            (number, line)
            for number, line in enumerate(text.splitlines(), start=1)
            if line.strip() and not line.startswith("#")
        ]
        rows = list(csv.reader(io.StringIO("\n".join(line for _, line in lines))))
        if not rows or tuple(cell.strip() for cell in rows[0]) != COLUMNS:
            self.fault(name, "columns", f"the first line must be {','.join(COLUMNS)}.")
            return items
        for (number, _), row in zip(lines[1:], rows[1:], strict=False):
            place = f"{name} line {number}"
            if len(row) != len(COLUMNS):
                self.fault(place, "line", f"{len(row)} values, {len(COLUMNS)} are wanted.")
                continue
            item_name, key, value, unit, low, high, source = (cell.strip() for cell in row[:7])
            if not item_name:
                self.fault(place, "item", "the name of the item is missing.")
                continue
            item = items.setdefault(item_name, Item(name=item_name, place=place))
            if key in item.cells:
                self.fault(place, f"{item_name}.{key}", "is given twice.", "Give it once.")
            item.cells[key] = Cell(place, value, unit, low, high, source)
        return items

    def check(self, item: Item) -> None:
        """Check one item's properties."""
        kind = item.word("kind")
        if kind not in NEEDED:
            what = f"{kind!r} is no kind of item" if kind else "its kind is missing"
            self.fault(item.place, item.name, f"{what}.", f"Give one of {', '.join(NEEDED)}.")
            return
        known = {"kind": None, "title": None, **NEEDED[kind], **OPTIONAL.get(kind, {})}
        for key, cell in item.cells.items():
            ratio = RATIO.fullmatch(key) if kind == "element" else None
            if ratio:
                self._ratio(item, key, cell, ratio["scale"])
            elif key not in known:
                rated = "; a rating is written as 'ratio at 4 um(c)'" if kind == "element" else ""
                self.fault(
                    cell.place,
                    f"{item.name}.{key}",
                    f"property is not known to the kind {kind!r}{rated}.",
                    did_you_mean(key, known),
                )
            else:
                self._cell(item, key, cell, known[key])
        for key in NEEDED[kind]:
            if key not in item.cells:
                self.fault(item.place, item.name, f"property {key!r} is missing.", f"Give {key}.")
        if kind == "element":
            self._element(item)

    def _cell(self, item: Item, key: str, cell: Cell, quantity: Quantity | None) -> None:
        """Read one property."""
        place = f"{item.name}.{key}"
        if quantity is None:
            allowed = WORDS.get(key, ())
            if allowed and cell.value not in allowed:
                self.fault(
                    cell.place, place, f"{shown(cell.value)} is not allowed.", ", ".join(allowed)
                )
            return
        if not cell.unit:
            self.fault(
                cell.place, place, "its unit is missing.", "Write 1 for a number without a unit."
            )
            return
        for name in ("value", "low", "high"):
            found = getattr(cell, name)
            if name != "value" and not found:
                continue
            problems = quantity.problems_of(f"{found} {cell.unit}")
            for problem in problems:
                self.fault(cell.place, f"{place} ({name})", problem.message, problem.remedy)
            if not problems:
                number = read_number(f"{found} {cell.unit}", quantity.kind)
                setattr(cell, "number" if name == "value" else f"{name}_number", number)
        if cell.low_number > cell.number or cell.high_number < cell.number:
            self.fault(cell.place, place, "low and high must bracket the value.")
        if not cell.source:
            self.fault(
                cell.place, place, "its source is missing.", "Say where it comes from, or invented."
            )

    def _ratio(self, item: Item, key: str, cell: Cell, scale: str) -> None:
        """Read a point of a filtration ratio."""
        place = f"{item.name}.{key}"
        if scale not in SCALES:
            self.fault(
                cell.place,
                place,
                "the scale of the size is not said: 4 um and 4 um(c) are two sizes.",
                "Write 'ratio at 4 um(c)' for ISO 11171, 'ratio at 4 um' for the older scale.",
            )
        if cell.unit == "%":
            self.fault(
                cell.place,
                place,
                "an efficiency in percent is no filtration ratio.",
                "The ratio is 1/(1 - efficiency): 98.7 % is 75.",
            )
            return
        self._cell(item, key, cell, Quantity("number", "1", "1e6", above_low=True))

    def _element(self, item: Item) -> None:
        """Check what an element's properties must be together."""
        points = [key for key in item.cells if RATIO.fullmatch(key)]
        if len(points) < 2:
            self.fault(
                item.place,
                item.name,
                f"{len(points)} points of its filtration ratio; two are needed for a curve.",
                "Give 'ratio at SIZE um(c)' twice.",
            )
        given = [key for key in SEPARATOR if key in item.cells]
        if given and len(given) < len(SEPARATOR):
            lacking = ", ".join(key for key in SEPARATOR if key not in item.cells)
            self.fault(
                item.place, item.name, "is only half a water separator.", f"Give {lacking} too."
            )

"""
What a form for each kind of table asks: made from the models that also read the document.

The models say which keys there are, what may stand in them and, in the words below each, what it is
called and means.  Here only stands what no model says: what a name refers to.
"""

import types
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt, MaxLen
from pydantic import BaseModel, StringConstraints
from pydantic.fields import FieldInfo

from feedproof.core.errors import MissingError
from feedproof.core.units import DIMENSIONS, split_quantity
from feedproof.core.values import SourcedValue
from feedproof.physics.fuel_catalogue import fuel_catalogue
from feedproof.records import document as doc
from feedproof.records import document_line as line
from feedproof.records import document_measures as measures
from feedproof.records import document_runs as runs
from feedproof.records import document_supply as supply
from feedproof.records import document_vehicle as vehicle
from feedproof.records.document_rig import RigSection
from feedproof.records.document_section import ID_PATTERN
from feedproof.records.mistakes import did_you_mean
from feedproof.records.quantity import LevelValue, Quantity
from feedproof.records.series import Series

_Model = type[BaseModel]


@dataclass(frozen=True, slots=True, kw_only=True)
class FormField:
    """
    One thing that a form asks.

    Parameters
    ----------
    key : str
        Key in the document.
    label, help : str
        What it is called, and what it means.
    type : str
        ``quantity`` (a text with a unit), ``series`` (numbers with one unit), ``level`` (share or
        volume), ``count``, ``switch``, ``choice``, ``name``, ``names``, ``counts``, ``text``,
        ``date``, ``fixed`` (this one word), ``size`` (particle size with its scale),
        ``cleanliness``, ``table``, ``tables``, ``map`` (tables or values by name), ``parts`` or
        ``end`` (quantity of a channel).
    required : bool
        False where it may be left out.
    default : object
        What counts where it is left out, as the document writes it; None where nothing does.
    units : tuple of str
        Units to choose from, the usual one first; others of the same kind are read too.
    low, high : str
        Range of sense, with units; empty where there is none.
    allowed : str
        The range in words.
    sourced : bool
        True where a table with value, low, high and source may stand in place of the value.
    choices : tuple of str
        Words to choose from.
    catalogue : tuple of str
        Items of the catalogue that may be named.
    refers_to : str
        What a name refers to: part, node, fuel, kit, element, instrument, measure; else empty.
    most : int or None
        Longest text, largest list or count.
    fields : tuple of FormField
        Of a table below.
    """

    key: str
    label: str
    help: str
    type: str
    required: bool
    default: Any = None
    units: tuple[str, ...] = ()
    low: str = ""
    high: str = ""
    allowed: str = ""
    sourced: bool = False
    choices: tuple[str, ...] = ()
    catalogue: tuple[str, ...] = ()
    refers_to: str = ""
    most: int | None = None
    fields: "tuple[FormField, ...]" = field(default=())


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """
    What is asked for one kind of table.

    Parameters
    ----------
    kind : str
        Such as ``pipe``, ``tank`` or ``kit``.
    title, help : str
        What it is called, and what it is.
    path : str
        Where such a table stands, ``*`` for a name or position.
    is_part : bool
        True for a kind of part, which is added to a line or a kit.
    fields : tuple of FormField
        In the order of the guide.
    """

    kind: str
    title: str
    help: str
    path: str
    is_part: bool
    fields: tuple[FormField, ...]


_PARTS: dict[str, tuple[_Model, str, str]] = {
    kind: (model, "line[*]", title)
    for kind, model, title in (
        ("pipe", line.PipeSection, "Pipe or hose"),
        ("fitting", line.FittingSection, "Fittings"),
        ("element", line.ElementSection, "Filter element or strainer"),
        ("check_valve", line.CheckValveSection, "Check valve or primer pump"),
        ("orifice", line.OrificeSection, "Orifice"),
        ("lift_pump", line.LiftPumpSection, "Lift pump"),
        ("cooler", line.CoolerSection, "Fuel cooler"),
        ("air_hole", line.AirHoleSection, "Air leak"),
    )
}
_TABLES: dict[str, tuple[_Model, str, str]] = {
    "case": (doc.CaseDocument, "", "Case"),
    "vehicle": (vehicle.VehicleSection, "vehicle", "Vehicle"),
    "engine": (vehicle.EngineSection, "vehicle.engine", "Engine"),
    "full_load": (vehicle.FullLoadSection, "vehicle.engine.full_load", "Full-load curve"),
    "gearing": (vehicle.GearingSection, "vehicle.gearing", "Gearing"),
    "tank": (vehicle.TankSection, "vehicle.tank", "Tank"),
    "pump": (vehicle.PumpSection, "vehicle.pump", "Pump"),
    "tee": (line.TeeSection, "tee[*]", "Tee piece"),
    "recirculation": (line.RecirculationSection, "recirculation", "Return led back"),
    "kit": (line.KitSection, "kit[*]", "Kit"),
    "insertion": (line.InsertionSection, "kit[*].insertion[*]", "Place of a kit"),
    "rating": (supply.RatingSection, "line[*].rating", "Filter rating"),
    "separator": (supply.SeparatorSection, "line[*].separator", "Water separator"),
    "fuel": (doc.FuelSection, "fuel.*", "Fuel"),
    "blend": (doc.BlendSection, "fuel.*.blend", "Blend"),
    "pull": (doc.PullSection, "pull", "Pull"),
    "conditions": (doc.ConditionsSection, "worst[*]", "Conditions"),
    "margins": (doc.MarginsSection, "margins", "Margins"),
    "ratio_repeatability": (
        doc.RatioRepeatabilitySection,
        "repeatability.*",
        "Repeatability of power or return",
    ),
    "pressure_repeatability": (
        doc.PressureRepeatabilitySection,
        "repeatability.*",
        "Repeatability of a pressure",
    ),
    "supply": (supply.SupplySection, "supply", "Fuel as it comes"),
    "duty": (supply.DutySection, "duty", "Duty"),
    "service": (supply.ServiceSection, "service", "Service"),
    "rig": (RigSection, "rig", "Rig and procedure"),
    "instrument": (runs.InstrumentSection, "instrument.*", "Instrument"),
    "channel": (runs.ChannelSection, "instrument.*.channels.*", "Channel"),
    "roller": (measures.RollerSection, "instrument.*.roller", "Errors of a roller"),
    "jug": (measures.JugSection, "measure.*", "Measuring jug"),
    "balance": (measures.BalanceSection, "measure.*", "Balance"),
    "air": (measures.AirSensorsSection, "measure.*", "Barometer and thermometer"),
    "run": (runs.RunSection, "run[*]", "Run"),
}
# By key, where a key means the same in every table that has it; else by table and key.
_REFERS = {
    "from": "node",
    "to": "node",
    "node": "node",
    "branch": "part",
    "InsertionSection.before": "part",
    "InsertionSection.after": "part",
    "fuel": "fuel",
    "of": "fuel",
    "kits": "kit",
    "loading": "element",
    "elements": "element",
    "instrument": "instrument",
    "CaughtReturnSection.measure": "measure",
}


def form_kinds() -> tuple[str, ...]:
    """
    List the kinds of table that have a form.

    Returns
    -------
    tuple of str
        Parts first.
    """
    return (*_PARTS, *_TABLES)


@cache
def form_for(kind: str) -> Form:
    """
    Describe what is asked for one kind of table.

    Parameters
    ----------
    kind : str
        As `form_kinds` lists them.

    Returns
    -------
    Form
        Its fields.

    Raises
    ------
    MissingError
        No such kind.
    """
    if kind not in _PARTS and kind not in _TABLES:
        raise MissingError.at(f"form {kind!r}", "there is none.", did_you_mean(kind, form_kinds()))
    model, path, title = _PARTS.get(kind) or _TABLES[kind]
    return Form(
        kind=kind,
        title=title,
        help=" ".join((model.__doc__ or "").split()),
        path=path,
        is_part=kind in _PARTS,
        fields=tuple(_fields(model)),
    )


def parts_catalogue() -> tuple[Form, ...]:
    """
    Describe every kind of part.

    Returns
    -------
    tuple of Form
        One for each kind.
    """
    return tuple(form_for(kind) for kind in _PARTS)


def _fields(model: _Model) -> Iterator[FormField]:
    """Describe the fields of a model; sections of the case have forms of their own."""
    for name, info in model.model_fields.items():
        key = info.alias or name
        if model is doc.CaseDocument and (_is_section(info) or key in ("format", "version")):
            continue
        yield _field(model, key, info)


def _is_section(info: FieldInfo) -> bool:
    """Say whether a field of the case holds tables."""
    return any(_model_in(each) for each, _ in _members(info.annotation))


def _model_in(annotation: Any) -> bool:
    """Say whether a model stands in an annotation, at any depth."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return True
    return any(_model_in(each) for each in get_args(annotation))


def _members(annotation: Any, metadata: tuple[Any, ...] = ()) -> list[tuple[Any, tuple[Any, ...]]]:
    """Take an annotation apart: each thing that may stand there, with its marks."""
    origin = get_origin(annotation)
    if origin is Annotated:
        inner, *marks = get_args(annotation)
        return _members(inner, (*metadata, *marks))
    if origin in (Union, types.UnionType):
        return [
            member
            for each in get_args(annotation)
            if each is not type(None)
            for member in _members(each, metadata)
        ]
    return [(annotation, metadata)]


def _field(model: _Model, key: str, info: FieldInfo) -> FormField:
    """Describe one field."""
    label, words = _words(key, info)
    found = _shape(key, info)
    found["refers_to"] = _REFERS.get(f"{model.__name__}.{key}", _REFERS.get(key, ""))
    if not info.is_required():
        found["default"] = _as_written(info.get_default(call_default_factory=True))
    return FormField(
        key=key,
        label=label,
        help=words,
        required=info.is_required(),
        **found,
    )


def _words(key: str, info: FieldInfo) -> tuple[str, str]:
    """Give label and help: the words below a field, parted by the first colon."""
    told = " ".join((info.description or "").split())
    label, _, words = told.partition(": ")
    if not label:
        return key.replace("_", " "), ""
    return label.rstrip("."), words


def _as_written(default: Any) -> Any:
    """Give a default as the document would write it."""
    if isinstance(default, SourcedValue):
        return default.text
    if isinstance(default, BaseModel) or default in ("", [], {}, ()):
        return None
    return default


def _shape(key: str, info: FieldInfo) -> dict[str, Any]:
    """Say what may stand in a field."""
    members = _members(info.annotation, tuple(info.metadata))
    models = [each for each, _ in members if isinstance(each, type) and issubclass(each, BaseModel)]
    if models:
        return {"type": "table", "fields": tuple(_fields(models[0]))}
    if len(members) > 1:
        return {"type": "end"}
    annotation, metadata = members[0]
    return _simple(key, annotation, metadata) or _holding(annotation, metadata)


def _simple(key: str, annotation: Any, metadata: tuple[Any, ...]) -> dict[str, Any]:
    """Describe a single value, or give nothing."""
    for mark in metadata:
        if isinstance(mark, (Quantity, Series)):
            ends = {"low": mark.low, "high": mark.high, "units": _units(mark)}
            allowed = mark.allowed if isinstance(mark, Quantity) else f"{mark.low} to {mark.high}"
            is_one = isinstance(mark, Quantity)
            kind = "quantity" if is_one else "series"
            return {"type": kind, "sourced": is_one, "allowed": allowed, **ends}
    if annotation is LevelValue:
        ends = {"low": "0 %", "high": "100 %", "units": ("%", "L")}
        return {"type": "level", "sourced": True, "allowed": "0 % to 100 %, or litres", **ends}
    if get_origin(annotation) is Literal:
        words = tuple(str(each) for each in get_args(annotation))
        if len(words) == 1:
            return {"type": "fixed", "default": words[0]}
        return {"type": "choice", "choices": words}
    if annotation is supply.ParticleSize:
        return {"type": "size", "units": ("um(c)", "um")}
    if annotation == tuple[int, int, int]:
        return {"type": "cleanliness"}
    simple = {bool: "switch", int: "count", datetime: "date"}
    if annotation in simple:
        return {"type": simple[annotation], **_limits(metadata)}
    if annotation is str:
        is_name = any(getattr(mark, "pattern", None) == ID_PATTERN for mark in metadata)
        catalogue = tuple(fuel_catalogue()) if key == "grade" else ()
        kind = "name" if is_name else "text"
        return {"type": kind, "catalogue": catalogue, **_limits(metadata)}
    return {}


def _units(mark: Quantity | Series) -> tuple[str, ...]:
    """List units of a quantity, that of its range first: it is the usual one for this field."""
    usual = [unit for end in (mark.high, mark.low) if (unit := split_quantity(end)[1])]
    return tuple(dict.fromkeys([*usual, *DIMENSIONS[mark.kind].examples]))


def _limits(metadata: tuple[Any, ...]) -> dict[str, Any]:
    """Give the limits of a count, or the longest text."""
    found: dict[str, Any] = {}
    for mark in metadata:
        low, high = getattr(mark, "ge", None), getattr(mark, "le", None)
        if isinstance(mark, (Ge, Gt)) or low is not None:
            found["low"] = str(low)
        if isinstance(mark, (Le, Lt)) or high is not None:
            found |= {"high": str(high), "most": int(high) if high is not None else None}
        if isinstance(mark, StringConstraints) and mark.max_length:
            found["most"] = mark.max_length
        if isinstance(mark, MaxLen):
            found["most"] = mark.max_length
    if "low" in found and "high" in found:
        found["allowed"] = f"{found['low']} to {found['high']}"
    return found


def _holding(annotation: Any, metadata: tuple[Any, ...]) -> dict[str, Any]:
    """Describe a list, or a table by names."""
    most = next((mark.max_length for mark in metadata if isinstance(mark, MaxLen)), None)
    arguments = get_args(annotation)
    inner = arguments[-1] if arguments else str
    members = _members(inner)
    models = [each for each, _ in members if isinstance(each, type) and issubclass(each, BaseModel)]
    if get_origin(annotation) is list and len(models) > 1:
        return {"type": "parts", "most": most}
    is_map = get_origin(annotation) is dict
    if models:
        fields = tuple(_fields(models[0]))
        return {"type": "map" if is_map else "tables", "most": most, "fields": fields}
    if is_map:
        value = FieldInfo.from_annotation(inner)
        return {"type": "map", "most": most, "fields": (_field(BaseModel, "", value),)}
    return {"type": "counts" if members[0][0] is int else "names", "most": most}


def forms_as_mapping() -> Mapping[str, Form]:
    """
    Describe every kind of table.

    Returns
    -------
    mapping of str to Form
        By kind.
    """
    return {kind: form_for(kind) for kind in form_kinds()}

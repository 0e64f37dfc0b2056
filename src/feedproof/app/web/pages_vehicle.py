"""Vehicle and kits: the line as a drawing, every part and table editable, mistakes in place."""

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from feedproof.app.api_edit import edit, edit_state, form_of, redo, undo
from feedproof.app.edit_result import EditState
from feedproof.app.web.access import FormToken
from feedproof.app.web.case_tables import TABLES, listed, tables_of
from feedproof.app.web.edit_form import SOURCED, entries_of, form_at, typed_values
from feedproof.app.web.line_view import LineView, line_view
from feedproof.app.web.numbers import DECIMALS, shown, unit_for
from feedproof.app.web.screen import case_of, notation_of, page, preferences_of, went_to, who_of
from feedproof.core.errors import ConflictError, FeedproofError, InputError
from feedproof.core.findings import Finding
from feedproof.records.editing.forms import Form
from feedproof.records.editing.operations import (
    Operation,
    ReplaceText,
    SetValue,
    SetValues,
    Together,
)
from feedproof.records.editing.part_operations import (
    AddKit,
    AddPart,
    MovePart,
    PlaceKit,
    RemoveKit,
    RemovePart,
)
from feedproof.records.editing.paths import location_of
from feedproof.records.editing.plain import entry_at

router = APIRouter(prefix="/cases/{case}/vehicle")
PART_KINDS = (
    "pipe", "fitting", "element", "check_valve", "orifice", "lift_pump", "cooler", "air_hole",
)  # fmt: skip
SOURCED_WORDS = {"-low": ", at least", "-high": ", at most", "-source": ", source"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """
    What is being edited.

    Parameters
    ----------
    path : str
        In the document; of a new part, where it goes.
    title : str
        In words.
    form : Form or None
        None where it is edited as text.
    entries : tuple
        Fields with what stands in them.
    part, kit : str
        Id of the part or kit; empty for a table.
    adds : str
        Kind of the part that is being added; empty otherwise.
    beside : str
        Part that it goes after; empty for the line's end.
    """

    path: str
    title: str
    form: Form | None
    entries: tuple[Any, ...]
    part: str = ""
    kit: str = ""
    adds: str = ""
    beside: str = ""


@router.get("")
def show(request: Request) -> Response:
    """Show the line, and the form of what was chosen."""
    return _screen(request)


def _screen(
    request: Request,
    findings: tuple[Finding, ...] = (),
    typed: Mapping[str, str] | None = None,
    *,
    is_late: bool = False,
) -> Response:
    """Fill the screen; who was late finds what he typed beside what stands there now."""
    path = case_of(request)
    state = edit_state(path)
    units = dict(preferences_of(request).settings.units)
    query = {**request.query_params, **({} if typed is None else typed)}
    view: LineView = line_view(
        path,
        state,
        str(query.get("with", "")),
        functools.partial(_pressure, units),
        notation_of(request),
    )
    # Saving what a late form still shows would put back what the first editor has changed.
    is_stale = is_late and (typed or {}).get("act") == "save"
    return page(
        request,
        "vehicle.html",
        status=409 if is_late else 422 if findings else 200,
        screen="vehicle",
        state=state,
        view=view,
        panel=_panel(state, query, None if is_stale else typed),
        unsaved=_unsaved(state, query, typed) if typed and is_stale else (),
        text=(typed or {}).get("text", "") or state.text,
        is_text_unsaved=bool(typed and typed.get("act") == "replace-text"),
        tables=tables_of(state.document),
        kits=_kits(state.document),
        part_kinds={kind: form_of(kind).title for kind in PART_KINDS},
        findings=findings,
        shown_with=str(query.get("with", "")),
        title=state.document.get("title", request.path_params["case"]),
    )


@router.post("")
async def change(request: Request, _: FormToken) -> Response:
    """Make one edit."""
    typed = {name: str(value) for name, value in (await request.form()).items()}
    return await run_in_threadpool(_change, request, typed)


def _change(request: Request, typed: dict[str, str]) -> Response:
    """Make the edit that a form asks for; what was typed is not lost when it cannot be made."""
    path = case_of(request)
    act, revision = typed.get("act", ""), typed.get("revision", "")
    address = f"/cases/{request.path_params['case']}/vehicle"
    after = {name: typed[name] for name in ("with", "edit") if typed.get(name)}
    try:
        if act in ("undo", "redo"):
            (undo if act == "undo" else redo)(path, revision)
        else:
            state = edit_state(path)
            operation, after_edit = _operation(
                act, typed, state, has_comma=preferences_of(request).settings.decimal_comma
            )
            after |= after_edit
            edit(path, revision, operation, who=who_of(request) or "operator")
    except FeedproofError as fault:
        return _screen(request, fault.findings, typed, is_late=isinstance(fault, ConflictError))
    words = "&".join(f"{key}={_quoted(value)}" for key, value in after.items() if value)
    return went_to(request, f"{address}{'?' + words if words else ''}")


def _operation(
    act: str, typed: Mapping[str, str], state: EditState, *, has_comma: bool
) -> tuple[Operation, dict[str, str]]:
    """Say which edit a form asks for, and what is open after it."""
    part, kit = typed.get("part", ""), typed.get("kit", "")
    match act:
        case "save":
            return _saved(typed, state, has_comma=has_comma)
        case "add-part":
            return _added(typed, has_comma=has_comma)
        case "remove-part":
            return RemovePart(part=part), {"edit": ""}
        case "move-part":
            side = "before" if typed.get("before") else "after"
            return MovePart(part=part, **{side: typed.get(side, "")}), {}
        case "add-kit":
            return _new_kit(typed), {"with": kit}
        case "remove-kit":
            return RemoveKit(kit=kit), {"with": "", "edit": ""}
        case "place-kit":
            side, _, beside = typed.get("place", "").partition(" ")
            if side == "before":
                return PlaceKit(kit=kit, before=beside), {"with": kit}
            return PlaceKit(kit=kit, after=beside), {"with": kit}
        case "replace-text":
            return ReplaceText(text=typed.get("text", "")), {}
    raise InputError.at("act", f"{act!r} is not known.", "Load the page again.")


def _saved(
    typed: Mapping[str, str], state: EditState, *, has_comma: bool
) -> tuple[Operation, dict[str, str]]:
    """Save a form."""
    at = typed.get("edit", "")
    data = _table(state.document, at)
    form = form_at(at, data)
    if form is None:
        raise InputError.at(at, "has no form.", "Edit it as text.")
    values = typed_values(form, data, typed, has_comma=has_comma)
    if not at:
        steps = [SetValue(path=(key,), value=value) for key, value in values.items()]
        return Together(operations=steps, what="title and note"), {"edit": at}
    return SetValues(path=at, values=values), {"edit": at}


def _added(typed: Mapping[str, str], *, has_comma: bool) -> tuple[Operation, dict[str, str]]:
    """Add a part of a kind."""
    kind, name = typed.get("kind", ""), typed.get("id", "").strip()
    if kind not in PART_KINDS:
        raise InputError.at(
            "kind", f"{kind!r} is no kind of part.", f"Choose: {', '.join(PART_KINDS)}."
        )
    values = typed_values(form_of(kind), {}, typed, has_comma=has_comma)
    part = {"id": name, "kind": kind, **values}
    beside = typed.get("beside", "")
    return AddPart(part=part, after=beside), {"edit": "", "with": typed.get("with", "")}


def _new_kit(typed: Mapping[str, str]) -> Operation:
    """Begin a kit of one element and its hose, as examples to be replaced."""
    kit = typed.get("kit", "").strip()
    side, _, beside = typed.get("place", "").partition(" ")
    role = "primary" if typed.get("role") == "primary" else "secondary"
    example = "example, replace"
    fine = role == "secondary"
    element = {
        "id": f"{kit}_element",
        "kind": "element",
        "title": f"{role} element",
        "role": role,
        "media_resistance": {
            "value": "3e9 1/m" if fine else "5e8 1/m",
            "low": "2.5e9 1/m" if fine else "4e8 1/m",
            "high": "3.8e9 1/m" if fine else "7e8 1/m",
            "source": example,
        },
        "face_area": {"value": "0.40 m^2" if fine else "0.30 m^2", "source": example},
        "housing_inertial": {"value": "4e8 1/m^4", "source": example},
        "loading_scale": {"value": "9 g" if fine else "20 g", "source": example},
    }
    hoses = {
        "id": f"{kit}_hoses",
        "kind": "pipe",
        "title": f"hoses of the {role}",
        "length": {"value": "0.9 m", "source": example},
        "bore": {"value": "10 mm", "source": example},
    }
    place = {"before" if side == "before" else "after": beside}
    title = typed.get("title", "").strip() or f"{role} filter"
    return AddKit(
        kit={"id": kit, "title": title, "insertion": [{**place, "part": [element, hoses]}]}
    )


def _panel(
    state: EditState, query: Mapping[str, Any], typed: Mapping[str, str] | None
) -> Panel | None:
    """Say what is being edited."""
    kind = str(query.get("add", "") or (query.get("kind", "") if typed else ""))
    if kind in PART_KINDS and not (typed and typed.get("act") != "add-part"):
        new = form_of(kind)
        beside = str(query.get("beside", ""))
        return Panel(
            path="",
            title=f"New: {new.title}",
            form=new,
            entries=_with_typed(entries_of(new, {}, {}), typed),
            adds=kind,
            beside=beside,
        )
    if "edit" not in query:
        return None
    at = str(query["edit"])
    data = _table(state.document, at)
    form = form_at(at, data)
    faults: dict[str, tuple[str, ...]] = {}
    for mark in state.marks:
        inside = mark.path.removeprefix(at).lstrip(".") if mark.path.startswith(at) else ""
        key = inside.split(".")[0].split("[")[0]
        if key:
            faults[key] = (*faults.get(key, ()), f"{mark.message} {mark.remedy}".strip())
    entries = _with_typed(entries_of(form, data, faults), typed) if form else ()
    is_part = at in state.parts.values()
    return Panel(
        path=at,
        title=str(data.get("title") or TABLES.get(at) or data.get("name") or at),
        form=form,
        entries=entries,
        part=str(data.get("id", "")) if is_part else "",
        kit=str(data.get("id", "")) if at.startswith("kit[") and at.count("[") == 1 else "",
    )


def _with_typed(entries: tuple[Any, ...], typed: Mapping[str, str] | None) -> tuple[Any, ...]:
    """Put what was typed back into the inputs."""
    from dataclasses import replace

    if not typed:
        return entries
    return tuple(
        replace(
            each,
            text=typed.get(each.name, each.text),
            more={
                key: typed.get(f"{each.name}-{key}", each.more.get(key, ""))
                for key in ("low", "high", "source", "unit")
                if typed.get(f"{each.name}-{key}") or key in each.more
            },
        )
        for each in entries
    )


def _unsaved(
    state: EditState, query: Mapping[str, Any], typed: Mapping[str, str]
) -> tuple[tuple[str, str], ...]:
    """List what was typed into a form and differs from what stands there now: label, text."""
    panel = _panel(state, query, None)
    found = []
    for each in panel.entries if panel else ():
        for key, before in (("", each.text), *((f"-{k}", each.more.get(k, "")) for k in SOURCED)):
            text = typed.get(f"{each.name}{key}", before).strip()
            if text != before.strip():
                label = f"{each.field.label}{SOURCED_WORDS.get(key, '')}"
                found.append((label, text or "empty"))
    return tuple(found)


def _pressure(units: dict[str, str], value_pa: float) -> str:
    """Write a pressure in the workshop's unit."""
    unit = unit_for(units, "pressure")
    return shown(value_pa, "pressure", unit, DECIMALS.get(unit, 1))


def _table(document: Mapping[str, Any], at: str) -> dict[str, Any]:
    """Give the table at a path; an empty one where it is not there yet."""
    if not at:
        return dict(document)
    try:
        found = entry_at(dict(document), location_of(dict(document), at))
    except (FeedproofError, KeyError, IndexError, TypeError):
        return {}
    return dict(found) if isinstance(found, Mapping) else {}


def _kits(document: Mapping[str, Any]) -> tuple[dict[str, Any], ...]:
    """List the kits with the place where they stand."""
    return tuple(
        {
            "id": str(kit.get("id", "")),
            "title": str(kit.get("title", "")),
            "places": [
                f"after {each['after']}" if "after" in each else f"before {each.get('before', '?')}"
                for each in listed(kit.get("insertion"))
            ],
        }
        for kit in listed(document.get("kit"))
    )


def _quoted(text: str) -> str:
    """Write a word of an address."""
    from urllib.parse import quote

    return quote(text, safe="")

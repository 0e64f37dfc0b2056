"""The line of a case as the vehicle screen shows it: parts in order with their shares."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from feedproof.app.edit_result import EditState
from feedproof.app.web.case_tables import listed
from feedproof.app.what_if import prepared_case
from feedproof.app.what_if_asked import WhatIf
from feedproof.app.what_if_pictures import feed_line_figure
from feedproof.core.errors import FeedproofError
from feedproof.core.findings import Finding
from feedproof.report.notation import Notation


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLine:
    """
    A part in the list.

    Parameters
    ----------
    id, title, kind, path, owner, listing : str
        The part, where it stands in the document, whose it is (``factory`` or a kit), and the list
        in which it can be moved.
    loss_pa, share_fraction : float or None
        What it costs; None where the line has no state to tell. [Pa], [-]
    marks : int
        Mistakes in it.
    earlier, later : str
        Neighbours in the same list; empty at its ends.
    """

    id: str
    title: str
    kind: str
    path: str
    owner: str
    listing: str
    loss_pa: float | None
    share_fraction: float | None
    marks: int
    earlier: str
    later: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LineView:
    """
    The line with its parts.

    Parameters
    ----------
    parts : tuple of PartLine
        Tank to pump.
    sentence : str
        What the line costs and what is left; empty where it has no state.
    findings : tuple of Finding
        Why it has none.
    pictures : mapping of str to str
        The drawing, ``wide`` and ``narrow``; empty where there is none.
    """

    parts: tuple[PartLine, ...]
    sentence: str = ""
    findings: tuple[Finding, ...] = ()
    pictures: Mapping[str, str] = field(default_factory=dict)


def line_view(
    path: Path,
    state: EditState,
    kits: str,
    pressure: Callable[[float], str],
    notation: Notation,
) -> LineView:
    """
    Give the line of a case.

    Parameters
    ----------
    path : Path
        Folder of the case.
    state : EditState
        Its document, also one with mistakes.
    kits : str
        Kits in the line, joined by ``+``; empty for the baseline.
    pressure : callable
        Writes a pressure in Pa as the workshop reads it.
    notation : Notation
        Units of the drawing.

    Returns
    -------
    LineView
        Parts are listed also where nothing can be computed.
    """
    rows = _rows(state.document, kits)
    steps: dict[str, Any] = {}
    sentence = ""
    findings: tuple[Finding, ...] = ()
    pictures: dict[str, str] = {}
    if state.usable:
        try:
            answer = prepared_case(path).answer(WhatIf(kits=(kits,) if kits else (), ranges=False))
            refused = [each for each in answer.refused if each.configuration == kits]
            findings = tuple(f for each in refused for f in each.findings)
            if not refused:
                found = answer.configurations[-1]
                staircase = found.staircase
                pictures = {
                    "wide": feed_line_figure(found, 780.0, notation).svg,
                    "narrow": feed_line_figure(found, 336.0, notation).svg.replace(
                        "feed-line-", "narrow-line-"
                    ),
                }
                steps = {step.part_id: step for step in staircase.steps}
                sentence = _sentence(staircase, answer.limit_abs_pa, pressure)
        except FeedproofError as fault:
            findings = fault.findings
    lines = []
    for i, (part, owner, listing) in enumerate(rows):
        name = str(part.get("id", ""))
        at = state.parts.get(name, "")
        step = steps.get(name)
        lines.append(
            PartLine(
                id=name,
                title=str(part.get("title") or name),
                kind=str(part.get("kind", "")),
                path=at,
                owner=owner,
                listing=listing,
                loss_pa=step.loss_pa if step else None,
                share_fraction=step.share_fraction if step else None,
                marks=sum(bool(at) and mark.path.startswith(at) for mark in state.marks),
                earlier=_neighbour(rows, i, -1, listing),
                later=_neighbour(rows, i, 1, listing),
            )
        )
    return LineView(parts=tuple(lines), sentence=sentence, findings=findings, pictures=pictures)


def _rows(document: Mapping[str, Any], kits: str) -> list[tuple[Mapping[str, Any], str, str]]:
    """Put the parts of kits into the line where they stand: part, owner, list it is of."""
    rows: list[tuple[Mapping[str, Any], str, str]] = [
        (part, "factory", "line") for part in listed(document.get("line"))
    ]
    wanted = kits.split("+") if kits else []
    for kit in listed(document.get("kit")):
        if kit.get("id") not in wanted:
            continue
        for number, place in enumerate(listed(kit.get("insertion"))):
            beside = place.get("after") or place.get("before")
            parts = [
                (p, str(kit["id"]), f"{kit['id']}/{number}") for p in listed(place.get("part"))
            ]
            places = [i for i, row in enumerate(rows) if row[0].get("id") == beside]
            at = places[0] if places else len(rows) - 1
            at += 1 if "after" in place else 0
            rows[at:at] = parts
    return rows


def _neighbour(
    rows: list[tuple[Mapping[str, Any], str, str]], i: int, step: int, listing: str
) -> str:
    """Give the next part of the same list on one side."""
    j = i + step
    while 0 <= j < len(rows):
        if rows[j][2] == listing:
            return str(rows[j][0].get("id", ""))
        j += step
    return ""


def _sentence(staircase: Any, limit_abs_pa: float | None, pressure: Callable[[float], str]) -> str:
    """Say what the line costs at the top of the pull and what is left."""
    last = staircase.steps[-1]
    words = (
        f"At the top of the pull the line takes {pressure(last.depression_after_pa)};"
        f" {pressure(last.pressure_abs_after_pa)} absolute are left at the pump inlet"
    )
    if limit_abs_pa is None:
        return f"{words}. The pump maker's limit is not known, so nobody can say whether it holds."
    room_pa = last.pressure_abs_after_pa - limit_abs_pa
    side = "above" if room_pa >= 0 else "BELOW"
    return (
        f"{words}, {pressure(abs(room_pa))} {side} the maker's limit of {pressure(limit_abs_pa)}."
    )

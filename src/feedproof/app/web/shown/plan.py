"""The plan of a test as its screen shows it, with its run sheet."""

from collections.abc import Mapping
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from feedproof.app.plan_result import MeasurePlan, SessionPlan
from feedproof.app.plan_sheet import run_sheet
from feedproof.app.plan_text import first_words, promise_words, window_words
from feedproof.app.plan_words import NAMES, chance_words, dashed, size
from feedproof.app.web.shown.common import told
from feedproof.evidence.plan.orders import HURTS_SOURCE
from feedproof.records.folder import CaseFolder
from feedproof.report.model import Table
from feedproof.report.run_sheet import sheet_content
from feedproof.report.run_sheet_model import RunSheet, SheetRun, SheetSession
from feedproof.report.words import upper_first


def shown_of(path: Path, plan: SessionPlan) -> dict[str, Any]:
    """
    Put a plan into what its screen shows.

    Parameters
    ----------
    path : Path
        Folder of the case.
    plan : SessionPlan
        From the verb ``plan``.

    Returns
    -------
    dict
        What JSON can hold.
    """
    case = CaseFolder.open(path).load().case
    sheet = run_sheet(case, plan, datetime.now(UTC).replace(microsecond=0))
    content = sheet_content(sheet)
    return {
        **{key: content[key] for key in ("banner", "vehicle", "wide", "narrow", "loop_words")},
        "answer": list(plan.answer),
        "order": dashed(plan.order),
        "reasons": list(plan.reasons),
        "together": _together(plan),
        "sessions": [asdict(each) for each in sheet.sessions],
        "orders": asdict(_orders(plan)),
        "measures": [_measure(plan, each) for each in plan.measures],
        "windows": [window_words(each) for each in plan.windows],
        "catch": list(sheet.catch),
        "controls": list(sheet.controls),
        "loop": list(sheet.loop),
        "margins_date": sheet.margins_date,
        "findings": told(plan.findings),
        "sheet": asdict(sheet),
    }


def sheet_from(document: Mapping[str, Any]) -> RunSheet:
    """
    Read a run sheet from what was kept of it.

    Parameters
    ----------
    document : mapping
        From ``shown_of``, as JSON holds it.

    Returns
    -------
    RunSheet
        As it was.
    """
    lists = {key: tuple(value) for key, value in document.items() if isinstance(value, list)}
    sessions = tuple(
        SheetSession(**{**each, "runs": tuple(SheetRun(**run) for run in each["runs"])})
        for each in document["sessions"]
    )
    conditions = tuple((head, words) for head, words in document["conditions"])
    return RunSheet(**{**document, **lists, "sessions": sessions, "conditions": conditions})


def _together(plan: SessionPlan) -> str:
    """Say how likely all measures are settled together; empty where nobody can."""
    if plan.chance_of_all is None:
        return ""
    return (
        "All margins that can be excluded together: with a chance of at least"
        f" {chance_words(plan.chance_of_all)} when there is no loss."
    )


def _orders(plan: SessionPlan) -> Table:
    """Set the orders side by side, with what each could exclude."""
    rows = []
    for place, row in enumerate(plan.measures[0].orders):
        mark = "this one" if row.order == plan.order else row.trap
        rows.append(
            (
                dashed(row.order),
                f"{row.runs}",
                f"{row.changes}",
                *(_excludes(each, place) for each in plan.measures),
                mark,
            )
        )
    return Table(
        caption="Orders side by side: the smallest margin that each excludes, 90\u00a0% chance",
        head=(
            "order",
            "runs",
            "change-overs",
            *(NAMES[each.measure] for each in plan.measures),
            "remark",
        ),
        rows=tuple(rows),
        note=f"What a drift that is no straight line does to an order: {HURTS_SOURCE}.",
    )


def _excludes(measure: MeasurePlan, place: int) -> str:
    """Write the smallest margin that one order excludes with a chance of 90 %."""
    if place >= len(measure.orders):
        return ""
    middle = measure.orders[place].smallest[1]
    if measure.repeatability is None:
        return f"{middle:.2f} repeatabilities" if middle < float("inf") else "none"
    return size(measure, middle)


def _measure(plan: SessionPlan, measure: MeasurePlan) -> dict[str, Any]:
    """Say for one measure what the plan can tell and what to improve first."""
    margin = (
        f"Agreed margin {size(measure, measure.margin)} ({measure.margin_source})."
        if measure.margin is not None
        else f"No margin: {measure.margin_source}."
    )
    if measure.repeatability is None:
        scatter = "No repeatability is declared: one run of each can never decide."
        promise = ""
    else:
        scatter = (
            f"Repeatability {size(measure, measure.repeatability, loss=False)}"
            f" ({measure.degrees_of_freedom:g} degrees of freedom; {measure.repeatability_source})."
        )
        promise = upper_first(f"{promise_words(measure)}.")
    return {
        "title": upper_first(NAMES[measure.measure]),
        "sentences": [each for each in (margin, scatter, promise) if each],
        "improve": upper_first(first_words(plan, measure)),
    }

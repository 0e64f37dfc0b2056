"""What if: sliders for what changes on the road, and the line redrawn while one is dragged."""

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from feedproof.app.web.numbers import unit_for
from feedproof.app.web.screen import case_of, notation_of, page, preferences_of
from feedproof.app.what_if import PreparedCase, prepared_case
from feedproof.app.what_if_asked import WhatIf
from feedproof.app.what_if_controls import Slider
from feedproof.app.what_if_pictures import (
    curves_of,
    envelope_figures,
    speed_figure,
    staircase_figure,
)
from feedproof.app.what_if_result import WhatIfAnswer
from feedproof.core.errors import FeedproofError, InputError
from feedproof.core.findings import Finding, error
from feedproof.core.units import from_si, to_si
from feedproof.records.folder import CaseFolder
from feedproof.report.notation import Notation
from feedproof.report.speed_chart import y_range
from feedproof.report.speed_words import SpeedMeasure
from feedproof.report.words import upper_first

router = APIRouter(prefix="/cases/{case}/what-if")
LARGEST = 1e9
LOADING = "loading."
"""Beginning of the name of a slider for one element."""


@router.get("")
def show(request: Request) -> Response:
    """Show sliders and pictures for the question that the address asks."""
    path = case_of(request)
    reading = CaseFolder.open(path).read()
    if reading.case is None:
        return page(request, "what_if.html", screen="what-if", mistakes=reading.findings)
    prepared = prepared_case(path)
    return _answered(request, prepared, "what_if.html", reading.case.title)


@router.get("/answer")
def answer(request: Request) -> Response:
    """Redraw: the part of the page that a slider changes."""
    return _answered(request, prepared_case(case_of(request)), "what_if_answer.html", "")


@router.get("/map")
def maps(request: Request) -> Response:
    """Show where each line holds, over fuel temperature and altitude, clean and loaded."""
    path = case_of(request)
    reading = CaseFolder.open(path).read()
    content: dict[str, Any] = {"screen": "what-if", "query": request.url.query}
    if reading.case is None:
        return page(request, "what_if_map.html", mistakes=reading.findings, figures=(), **content)
    prepared = prepared_case(path)
    kits = tuple(each for each in request.query_params.getlist("kit") if each)
    asked, faults = asked_of(dict(request.query_params), kits, prepared, units_of(request))
    try:
        if faults:
            raise InputError(faults)
        figures = [
            (wide, narrow)
            for wide, narrow in zip(
                *(
                    envelope_figures(prepared, asked, px, notation_of(request))
                    for px in (860.0, 336.0)
                ),
                strict=True,
            )
        ]
    except FeedproofError as fault:
        return page(
            request, "what_if_map.html", status=422, mistakes=fault.findings, figures=(), **content
        )
    return page(request, "what_if_map.html", mistakes=(), figures=figures, **content)


def _answered(request: Request, prepared: PreparedCase, template: str, title: str) -> Response:
    """Answer the question of an address."""
    query = dict(request.query_params)
    units = units_of(request)
    kits = tuple(each for each in request.query_params.getlist("kit") if each)
    asked, faults = asked_of(query, kits, prepared, units)
    wide = _number(query.get("width", ""), 760.0)
    content: dict[str, Any] = {"mistakes": (), "title": title, "asked": asked}
    try:
        if faults:
            raise InputError(faults)
        found = prepared.answer(asked)
    except FeedproofError as fault:
        return page(
            request,
            template,
            screen="what-if",
            status=200 if template == "what_if.html" else 422,
            controls=(basic := prepared.controls()),
            sliders=[_shown(each, units, query) for each in (*basic.sliders, *basic.loadings)],
            findings=fault.findings,
            figures=(),
            answer=None,
            refused=(),
            **content,
        )
    axes = _axes(found, query)
    return page(
        request,
        template,
        screen="what-if",
        controls=(controls := prepared.controls(asked)),
        sliders=[_shown(each, units, query) for each in (*controls.sliders, *controls.loadings)],
        findings=found.findings,
        refused=found.refused,
        answer=found,
        rows=_rows(found),
        figures=_figures(found, wide, axes, notation_of(request)),
        axes=axes,
        dragging=query.get("drag") == "yes",
        **content,
    )


def asked_of(
    query: Mapping[str, str],
    kits: tuple[str, ...],
    prepared: PreparedCase,
    units: Mapping[str, str],
) -> tuple[WhatIf, list[Finding]]:
    """
    Read a question from an address.

    Parameters
    ----------
    query : mapping of str to str
        Sliders in the units that they are shown in.
    kits : tuple of str
        Configurations beside the baseline; at most two are drawn.
    prepared : PreparedCase
        The case.
    units : mapping of str to str
        Unit of each kind of slider.

    Returns
    -------
    WhatIf
        The question; the case's own conditions where nothing is said.
    list of Finding
        What cannot be read.
    """
    faults: list[Finding] = []
    base = WhatIf(
        kits=kits[:2],
        base=query.get("base") or WhatIf().base,
        fuel=query.get("fuel") or None,
        ranges=query.get("drag") != "yes",
    )
    try:
        controls = prepared.controls(replace(base, kits=()))
    except FeedproofError as fault:
        return base, list(fault.findings)
    values: dict[str, Any] = {}
    shares: dict[str, float] = {}
    for slider in (*controls.sliders, *controls.loadings):
        text = query.get(slider.name, "")
        if not text:
            continue
        shown = _number(text, math.nan)
        if not abs(shown) < LARGEST:
            words = f"{text[:40]!r} is no number."
            faults.append(error(slider.title, words, "Move the slider, or leave it out."))
            continue
        value = to_si(shown, units.get(slider.kind, slider.unit), slider.kind)
        if slider.name.startswith(LOADING):
            shares[slider.name.removeprefix(LOADING)] = value
        else:
            values[slider.name] = value
    return replace(base, **values, loading_shares=shares), faults


def units_of(request: Request) -> dict[str, str]:
    """Give the units that this workshop reads sliders in, by kind."""
    chosen = dict(preferences_of(request).settings.units)
    return {
        "temperature": unit_for(chosen, "temperature"),
        "altitude": unit_for(chosen, "length"),
        "speed": unit_for(chosen, "speed"),
        "angle": "deg",
        "fraction": "percent",
    }


def _shown(slider: Slider, units: Mapping[str, str], query: Mapping[str, str]) -> dict[str, Any]:
    """Give a slider in the unit that it is read in; ends go outward to whole steps."""
    unit = units.get(slider.kind, slider.unit)
    least, most, value = (
        from_si(each, unit, slider.kind) for each in (slider.least, slider.most, slider.value)
    )
    step = 50.0 if unit == "ft" else max(1.0, round(_span(slider, unit)))
    return {
        "name": slider.name,
        "title": upper_first(slider.title),
        "unit": unit.replace("deg", "°").replace("percent", "%") if unit != "deg" else "°",
        "least": f"{math.floor(least / step) * step:.0f}",
        "most": f"{math.ceil(most / step - 1e-9) * step:.0f}",
        "step": f"{step:g}",
        "value": f"{value:.0f}",
        # What the address asks for is asked again; all else stays as the case declares it.
        "touched": bool(query.get(slider.name)),
    }


def _span(slider: Slider, unit: str) -> float:
    """Give a slider's step in the unit that it is read in."""
    first, second = (
        from_si(each, unit, slider.kind) for each in (slider.least, slider.least + slider.step)
    )
    return second - first


def _figures(
    found: WhatIfAnswer,
    wide: float,
    axes: Mapping[SpeedMeasure, tuple[float, float]],
    notation: Notation,
) -> tuple[Any, ...]:
    """Draw what the page shows."""
    return (
        staircase_figure(found, wide, notation),
        *(speed_figure(found, measure, wide, axis, notation) for measure, axis in axes.items()),
    )


def _axes(found: WhatIfAnswer, query: Mapping[str, str]) -> dict[SpeedMeasure, tuple[float, float]]:
    """Keep the axes that the page has: one that moved would hide what the slider does."""
    curves = curves_of(found)
    return {
        measure: _axis(query.get(f"axis-{measure.value}", "")) or y_range(curves, measure)
        for measure in (SpeedMeasure.DEPRESSION, SpeedMeasure.FEED_MARGIN)
    }


def _rows(found: WhatIfAnswer) -> tuple[dict[str, Any], ...]:
    """Give the figures of each configuration that are asked for first."""
    limit = found.limit_abs_pa
    rows = []
    for each in found.configurations:
        last = each.staircase.steps[-1]
        rows.append(
            {
                "title": each.title,
                "depression_pa": last.depression_after_pa,
                "pressure_abs_pa": last.pressure_abs_after_pa,
                "room_pa": None if limit is None else last.pressure_abs_after_pa - limit,
                "slack": each.slack,
                "binding": each.binding.value.replace("_", " "),
                "binding_speed_m_per_s": each.binding_speed_m_per_s,
            }
        )
    return tuple(rows)


def _axis(text: str) -> tuple[float, float] | None:
    """Read the ends of an axis that a page keeps while a slider is dragged."""
    low, _, high = text.partition(",")
    ends = _number(low, math.nan), _number(high, math.nan)
    return ends if abs(ends[0]) < LARGEST and ends[0] < ends[1] < LARGEST else None


def _number(text: str, other: float) -> float:
    """Read a number; the other where there is none."""
    try:
        value = float(text)
    except ValueError:
        return other
    return value if math.isfinite(value) else other

"""
What if: one request of a slider, from the question to its pictures.

All is of the packaged, invented demonstration: baseline and two kits, another fuel temperature and
altitude for every request, so that no answer is one that was kept.  The time of the processor is
printed beside that of the clock, because a slider's 95th percentile is that of a busy machine.  The
curves drawn by a Vega-Lite converter stand beside ours: the choice of decision 20.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from benchmarks.measure import Report, first_call
from feedproof.app import api
from feedproof.app.predicting import predict_case
from feedproof.app.what_if import PreparedCase, prepared_case
from feedproof.app.what_if_asked import WhatIf
from feedproof.app.what_if_pictures import (
    curves_of,
    feed_line_figure,
    speed_figure,
    staircase_figure,
)
from feedproof.app.what_if_result import WhatIfAnswer
from feedproof.report.speed_words import SpeedCurves, SpeedMeasure, values_of
from feedproof.report.svg import stroke_of
from feedproof.report.vega import Spec, drawn, framed

REQUESTS, WARM_UP = 200, 5
KITS = ("secondary", "primary")
WIDTH_PX = 960.0
GOAL_MEDIAN_MS, GOAL_P95_MS = 10.0, 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """
    Times of one kind of work.

    Parameters
    ----------
    what : str
        Name in the table.
    clock_ms, processor_ms : array, shape (n,)
        Of each request. [ms]
    goal : bool
        True where the goal of a request holds.
    """

    what: str
    clock_ms: np.ndarray
    processor_ms: np.ndarray
    goal: bool = False


def questions(count: int, *, ranges: bool) -> list[WhatIf]:
    """
    Make questions of which no two are alike.

    Parameters
    ----------
    count : int
        How many.
    ranges : bool
        False leaves the ranges out, as while dragging.

    Returns
    -------
    list of WhatIf
        A slider of fuel temperature that goes up and one of altitude that goes down.
    """
    temperatures = np.linspace(270.0, 340.0, count) + (0.01 if ranges else 0.0)
    altitudes = np.linspace(3000.0, 0.0, count)
    return [
        WhatIf(kits=KITS, fuel_temperature_k=float(t), altitude_m=float(z), ranges=ranges)
        for t, z in zip(temperatures, altitudes, strict=True)
    ]


def one_request() -> None:
    """Answer one question and draw it: what a fresh process pays for."""
    answer = prepared_case(api.PACKAGED_DEMO).answer(WhatIf(kits=KITS))
    draw(answer)


def draw(answer: WhatIfAnswer) -> None:
    """
    Draw what the page shows of an answer.

    Parameters
    ----------
    answer : WhatIfAnswer
        The answer.
    """
    staircase_figure(answer, WIDTH_PX)
    speed_figure(answer, SpeedMeasure.DEPRESSION, WIDTH_PX)
    speed_figure(answer, SpeedMeasure.FEED_MARGIN, WIDTH_PX)
    feed_line_figure(answer.configurations[1], WIDTH_PX)


def by_converter(curves: SpeedCurves) -> str:
    """
    Draw the depression by Vega-Lite.

    Parameters
    ----------
    curves : SpeedCurves
        The curves.

    Returns
    -------
    str
        SVG: the lines with their axes, without labels, limit and ranges.
    """
    layers: list[Spec] = []
    for pull, place in zip(curves.pulls, curves.places, strict=True):
        stroke = stroke_of(place)
        values = values_of(pull, SpeedMeasure.DEPRESSION)
        layers.append(
            {
                "data": {
                    "values": [
                        {"x": 3.6 * float(x), "y": float(y)}
                        for x, y in zip(pull.speed_m_per_s, values, strict=True)
                    ]
                },
                "mark": {
                    "type": "line",
                    "color": stroke.colour,
                    "strokeDash": [float(each) for each in stroke.dash.split()],
                },
            }
        )
    spec = {
        **framed(layers, "depression", "benchmark", 13),
        "width": WIDTH_PX,
        "height": 320,
        "encoding": {
            "x": {"field": "x", "type": "quantitative"},
            "y": {"field": "y", "type": "quantitative"},
        },
    }
    return drawn(spec, "bench", "depression", "benchmark")


def timed(what: str, calls: list[Callable[[], object]], *, goal: bool = False) -> Times:
    """
    Time calls one by one.

    Parameters
    ----------
    what : str
        Name in the table.
    calls : list of callable
        The first ones are not counted.
    goal : bool
        True where the goal of a request holds.

    Returns
    -------
    Times
        Of each call.
    """
    clock, processor = [], []
    for call in calls:
        started, worked = time.perf_counter(), time.thread_time()
        call()
        clock.append(1e3 * (time.perf_counter() - started))
        processor.append(1e3 * (time.thread_time() - worked))
    return Times(
        what=what,
        clock_ms=np.array(clock[WARM_UP:]),
        processor_ms=np.array(processor[WARM_UP:]),
        goal=goal,
    )


def greatest_difference(prepared: PreparedCase, asked: WhatIf) -> float:
    """
    Compare an answer with `predict` under the same conditions.

    Parameters
    ----------
    prepared : PreparedCase
        The case.
    asked : WhatIf
        The question.

    Returns
    -------
    float
        Greatest relative difference of the depression along the pull. [-]
    """
    answer = prepared.answer(asked)
    conditions = answer.conditions
    changes = {
        "fuel_temperature_k": conditions.fuel_temperature_k,
        "ambient_pressure_abs_pa": conditions.ambient_pressure_abs_pa,
    }
    predicted = predict_case(prepared.case, kits=asked.kits, changes=changes)
    return max(
        float(np.max(np.abs(ours.pull.depression_pa / theirs.pull.depression_pa[::2] - 1.0)))
        for ours, theirs in zip(answer.configurations, predicted.configurations, strict=True)
    )


def main(report: Report) -> None:
    """
    Compare the answers with `predict`, then time request and pictures.

    Parameters
    ----------
    report : Report
        Where to.
    """
    report.title("What if")
    prepared = prepared_case(api.PACKAGED_DEMO)
    count = REQUESTS + WARM_UP
    quick, full = questions(count, ranges=False), questions(count, ranges=True)
    first_call(report, "benchmarks.what_if", "one_request")
    difference = max(greatest_difference(prepared, each) for each in full[::40])
    points = prepared.answer(full[0]).configurations[0].pull.speed_m_per_s.size
    report.paragraph(
        f"Baseline and {len(KITS)} kits at {points} speeds, {REQUESTS} requests of which no two are"
        f" alike. Greatest relative difference from `predict`: {difference:.1e}."
    )
    if difference > 1e-9:
        raise RuntimeError("the answers are not those of predict: a time would say nothing")
    rows = [
        timed("answer while dragging", [_call(prepared.answer, q) for q in quick], goal=True),
        timed("answer with ranges", [_call(prepared.answer, q) for q in full], goal=True),
    ]
    answers = [prepared.answer(each) for each in full]
    rows += [
        timed("staircase drawn", [_call(staircase_figure, a, WIDTH_PX) for a in answers]),
        timed(
            "curves drawn",
            [_call(speed_figure, a, SpeedMeasure.DEPRESSION, WIDTH_PX) for a in answers],
        ),
        timed(
            "feed line drawn",
            [_call(feed_line_figure, a.configurations[1], WIDTH_PX) for a in answers],
        ),
        timed(
            "curves by Vega-Lite converter",
            [_call(by_converter, curves_of(a)) for a in answers[: 40 + WARM_UP]],
        ),
    ]
    fresh = [replace(each, road_pitch_rad=0.01) for each in quick]
    rows.append(
        timed(
            "answer while dragging, four pictures",
            [_call(lambda q: draw(prepared.answer(q)), each) for each in fresh],
            goal=True,
        )
    )
    report.table(
        ("what", "median ms", "p95 ms", "processor median ms", "processor p95 ms", "goal", ""),
        [_row(each) for each in rows],
    )


def _call(function: Callable[..., object], *values: object) -> Callable[[], object]:
    """Bind values to a call."""
    return lambda: function(*values)


def _row(times: Times) -> tuple[str, ...]:
    """Write one row; a goal is of the processor, which other work on the machine does not move."""
    clock, processor = times.clock_ms, times.processor_ms
    median, high = (float(np.percentile(processor, q)) for q in (50, 95))
    met = median < GOAL_MEDIAN_MS and high < GOAL_P95_MS
    return (
        times.what,
        f"{np.percentile(clock, 50):.2f}",
        f"{np.percentile(clock, 95):.2f}",
        f"{median:.2f}",
        f"{high:.2f}",
        f"< {GOAL_MEDIAN_MS:g}, < {GOAL_P95_MS:g}" if times.goal else "",
        ("met" if met else "MISSED") if times.goal else "",
    )

"""The pictures of an answer "what if", drawn for the width of the page that shows them."""

import math
from dataclasses import replace

from feedproof.app.spoken import configuration_words
from feedproof.app.what_if import PreparedCase
from feedproof.app.what_if_asked import WhatIf
from feedproof.app.what_if_result import WhatIfAnswer, WhatIfConfiguration
from feedproof.report import (
    envelope_chart,
    envelope_words,
    feed_line_words,
    speed_words,
    staircase_words,
)
from feedproof.report.feed_line_picture import feed_line_svg
from feedproof.report.feed_line_words import FeedLine
from feedproof.report.live import Figure, for_page
from feedproof.report.live_maps import LiveMaps, LiveWorst
from feedproof.report.model import KitWords
from feedproof.report.notation import REPORT, Notation
from feedproof.report.speed_chart import speed_svg
from feedproof.report.speed_words import SpeedCurves, SpeedMeasure
from feedproof.report.staircase_picture import staircase_svg
from feedproof.report.staircase_words import LiveStaircases
from feedproof.report.words import upper_first

NARROWEST_PX, WIDEST_PX = 280.0, 1600.0


def width_drawn(asked_px: float) -> float:
    """
    Give the width that a picture is drawn for.

    Parameters
    ----------
    asked_px : float
        Width of the container, as the page measured it. [px]

    Returns
    -------
    float
        Whole steps of 8, so that a scroll bar makes no new picture; inside what can be
        read. [px]
    """
    if math.isnan(asked_px):
        return NARROWEST_PX
    return min(max(8.0 * (asked_px // 8.0), NARROWEST_PX), WIDEST_PX)


def staircase_figure(answer: WhatIfAnswer, width_px: float, notation: Notation = REPORT) -> Figure:
    """
    Draw the staircases of all configurations over each other.

    Parameters
    ----------
    answer : WhatIfAnswer
        The answer.
    width_px : float
        Width of the container. [px]
    notation : Notation
        Units to write.

    Returns
    -------
    Figure
        For the page.
    """
    live = LiveStaircases(
        staircases=tuple(each.staircase for each in answer.configurations),
        kits=_words(answer),
    )
    name = "live-staircase"
    svg = staircase_svg(live, width=width_drawn(width_px), name=name, notation=notation)
    return Figure(
        name=name,
        title=staircase_words.TITLE,
        svg=for_page(svg),
        sentence=staircase_words.sentence(live, notation),
        table=staircase_words.table(live, notation),
    )


def feed_line_of(found: WhatIfConfiguration) -> FeedLine:
    """
    Give what the feed-line drawing of a configuration shows.

    Parameters
    ----------
    found : WhatIfConfiguration
        The configuration.

    Returns
    -------
    FeedLine
        At the speed asked about.
    """
    laid = sum(step.loss_pa for leg in found.legs if leg.on_way for step in leg.steps)
    return FeedLine(
        short=found.short,
        place=found.place,
        legs=found.legs,
        owners=found.owners,
        depression_pa=found.state.depression_pa,
        lift_pa=found.state.depression_pa - laid,
        feed_m3_per_s=found.state.feed_m3_per_s,
        return_m3_per_s=found.state.return_m3_per_s,
        engine_speed_rev_per_s=found.staircase.engine_speed_rev_per_s,
    )


def feed_line_figure(
    found: WhatIfConfiguration, width_px: float, notation: Notation = REPORT
) -> Figure:
    """
    Draw the feed line of one configuration.

    Parameters
    ----------
    found : WhatIfConfiguration
        The configuration.
    width_px : float
        Width of the container. [px]
    notation : Notation
        Units to write.

    Returns
    -------
    Figure
        For the page; every part is a button with ``data-part``.
    """
    drawn = feed_line_of(found)
    name = f"feed-line-{found.place}"
    return Figure(
        name=name,
        title=f"{feed_line_words.TITLE}: {found.short}",
        svg=for_page(feed_line_svg(drawn, width_drawn(width_px), name=name, notation=notation)),
        sentence=feed_line_words.sentence(drawn, notation),
        table=feed_line_words.table(drawn, notation),
    )


def curves_of(answer: WhatIfAnswer) -> SpeedCurves:
    """
    Give what the curves against speed show.

    Parameters
    ----------
    answer : WhatIfAnswer
        The answer.

    Returns
    -------
    SpeedCurves
        Of all configurations.
    """
    return SpeedCurves(
        pulls=tuple(each.pull for each in answer.configurations),
        kits=_words(answer),
        places=tuple(each.place for each in answer.configurations),
        limit_abs_pa=answer.limit_abs_pa,
        speed_m_per_s=answer.speed_m_per_s,
        ranges_pa=tuple(
            None
            if each.depression_low_pa is None or each.depression_high_pa is None
            else (each.depression_low_pa, each.depression_high_pa)
            for each in answer.configurations
        ),
    )


def speed_figure(
    answer: WhatIfAnswer,
    measure: SpeedMeasure,
    width_px: float,
    axis: tuple[float, float] | None = None,
    notation: Notation = REPORT,
) -> Figure:
    """
    Draw the curves of a measure against speed.

    Parameters
    ----------
    answer : WhatIfAnswer
        The answer.
    measure : SpeedMeasure
        Of what.
    width_px : float
        Width of the container. [px]
    axis : tuple of float, optional
        Ends of the upright axis, from `feedproof.report.speed_chart.y_range`, to be kept while
        a slider is dragged.
    notation : Notation
        Units to write.

    Returns
    -------
    Figure
        For the page.
    """
    curves = curves_of(answer)
    name = f"live-{measure.value.replace('_', '-')}"
    width = width_drawn(width_px)
    svg = speed_svg(curves, measure, width, axis=axis, name=name, notation=notation)
    return Figure(
        name=name,
        title=upper_first(f"{speed_words.TITLES[measure]} against speed"),
        svg=for_page(svg),
        sentence=speed_words.sentence(curves, measure, notation),
        table=speed_words.table(curves, measure, notation),
    )


def envelope_figures(
    prepared: PreparedCase, asked: WhatIf, width_px: float, notation: Notation = REPORT
) -> tuple[Figure, ...]:
    """
    Draw the envelope maps of a question's configurations with its fuel.

    Parameters
    ----------
    prepared : PreparedCase
        The case.
    asked : WhatIf
        Its kits and its fuel are taken; the maps have axes of their own for the rest.
    width_px : float
        Width of the container. [px]
    notation : Notation
        Units to write.

    Returns
    -------
    tuple of Figure
        The baseline first.

    Raises
    ------
    InputError
        What is wrong with the question.
    """
    case, fuel, maps = prepared.maps(asked)
    live = LiveMaps(
        reference=replace(case.reference, fuel=fuel),
        limit_abs_pa=case.vehicle.pump.maker_limit_abs_pa,
        worst=tuple(LiveWorst(conditions=each) for each in case.worst),
        kits=tuple(configuration_words(case, each.configuration) for each in maps),
    )
    width = width_drawn(width_px)
    return tuple(
        Figure(
            name=f"envelope-{place}",
            title=f"Envelope of {live.kit(each.configuration).short}",
            svg=for_page(envelope_chart.envelope_svg(live, each, width=width, notation=notation)),
            sentence=envelope_words.sentence(live, each, notation),
            table=envelope_words.table(live, each, notation),
            note=envelope_words.KEY,
        )
        for place, each in enumerate(maps)
    )


def _words(answer: WhatIfAnswer) -> tuple[KitWords, ...]:
    """Give the words of all configurations."""
    return tuple(
        KitWords(configuration=each.configuration, short=each.short, title=each.title)
        for each in answer.configurations
    )

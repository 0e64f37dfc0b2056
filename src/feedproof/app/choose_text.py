"""The choice as text for a console, and as a page."""

import math

from feedproof.app.choice_result import Choice, RatedKit
from feedproof.app.choice_words import km
from feedproof.app.text import findings_text, kpa, table
from feedproof.kits.candidates import Kind
from feedproof.report.front_chart import Front, FrontPoint, front_svg
from feedproof.report.front_chart import sentence as front_sentence
from feedproof.report.front_chart import table as front_table
from feedproof.report.gallery import Section, gallery_html

WHICH = "Primary or secondary?"
STARVES = "Will a fine secondary starve my engine?"
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def choice_text(told: Choice) -> str:
    """
    Write a choice for a console.

    Parameters
    ----------
    told : Choice
        The choice.

    Returns
    -------
    str
        Answer, the two questions, the front, the rule, findings.
    """
    parts = [told.title]
    if told.note:
        parts.append(told.note)
    parts += [told.vehicle, "", *told.sentences, ""]
    parts += [WHICH, told.primary_or_secondary, "", STARVES, told.starves, ""]
    currency = told.wishes.currency
    parts += [
        table(
            (
                "kit",
                "pass in 100",
                "left clean %",
                "left at end %",
                "interval km",
                f"{currency}/100\u202f000 km",
                "joints",
                "breaks",
            ),
            [_row(each, told) for each in told.kits],
        ),
        "",
        f"{told.looked_at} candidates from {told.catalogue}, {told.fitting} of them break nothing."
        " * stands on the front: no other is better or alike in everything.",
        told.rule,
    ]
    return "\n".join([*parts, "", findings_text(told.findings)])


def _row(each: RatedKit, told: Choice) -> tuple[str, ...]:
    """Write a kit's row."""
    sign = ">" if each.id == told.best else " "
    front = "*" if each.on_front else " "
    return (
        f"{sign}{front} {each.id}",
        f"{100 * each.exposure:.0f} ({100 * each.exposure_low:.0f}-{100 * each.exposure_high:.0f})",
        f"{100 * each.clean_slack:.0f}",
        f"{100 * each.end_slack + 0.0:.0f}".replace("-0", "0"),
        km(each.interval_m),
        "none" if math.isinf(each.whole_cost) else f"{each.whole_cost:.0f}",
        f"{each.joints}",
        ", ".join(each.why_not) or "nothing",
    )


def front_of_choice(told: Choice) -> Front | None:
    """
    Give what the picture shows.

    Parameters
    ----------
    told : Choice
        The choice.

    Returns
    -------
    Front or None
        None where nothing fits.
    """
    shown = [each for each in told.kits if each.on_front or each.id == told.best]
    if not shown:
        return None
    return Front(
        title="Kits that break no limit and no wish",
        currency=told.wishes.currency,
        points=tuple(
            FrontPoint(
                sign=LETTERS[row % len(LETTERS)] + (str(row // 26) if row >= 26 else ""),
                kind=each.kind.value,
                name=_short(each),
                title=_full(each),
                cost=each.whole_cost,
                slack=each.clean_slack,
                end_slack=each.end_slack,
                exposure=each.exposure,
                interval_m=each.interval_m,
                best=each.id == told.best,
            )
            for row, each in enumerate(shown)
        ),
    )


def _short(each: RatedKit) -> str:
    """Give a short name."""
    if each.kind is Kind.NONE:
        return "no kit"
    return " + ".join(name.replace("_", " ") for name in each.elements)


def _full(each: RatedKit) -> str:
    """Give a short name with the hose and its fittings."""
    hose = each.id.partition("/")[2].replace("_", " ")
    return f"{_short(each)}, {hose}" if hose else _short(each)


def choice_html(told: Choice) -> str:
    """
    Write a choice as one HTML page.

    Parameters
    ----------
    told : Choice
        The choice.

    Returns
    -------
    str
        A whole document with the trade-off front.
    """
    return gallery_html(
        title=told.title,
        topic="which kit",
        vehicle=told.vehicle,
        program_version=told.program,
        invented="invented" in told.note.lower(),
        answers=list(told.sentences),
        sections=choice_sections(told),
        findings=[str(finding) for finding in told.findings],
    )


def choice_sections(told: Choice) -> list[Section]:
    """
    Put a choice into sections of a page.

    Parameters
    ----------
    told : Choice
        The choice.

    Returns
    -------
    list of Section
        The two questions of every customer, the trade-off front, what was held.
    """
    front = front_of_choice(told)
    sections = [
        Section(title=WHICH, sentences=(told.primary_or_secondary,)),
        Section(title=STARVES, sentences=(told.starves,)),
    ]
    if front is not None:
        sections.append(
            Section(
                title="The trade-off front",
                sentences=(front_sentence(front), told.rule),
                wide=front_svg(front, name="front"),
                narrow=front_svg(front, name="front-narrow", narrow=True),
                tables=(front_table(front),),
            )
        )
    if told.limit_abs_pa is not None:
        sections.append(
            Section(
                title="What was held",
                sentences=(
                    f"Inlet pressure at least {kpa(told.limit_abs_pa)} kPa absolute under every"
                    " declared worst condition, clean and at the end of the interval; free gas and"
                    " feed margin by the project's own rules.",
                ),
            )
        )
    return sections

"""Service as text for a console, and as a page."""

import math

from feedproof.app.service_result import ServicedConfiguration, ServicePlan
from feedproof.app.text import findings_text, kpa, table
from feedproof.core.units import from_si
from feedproof.kits.check_values import CheckBand, CheckValues
from feedproof.kits.service import YEAR_S, Rule
from feedproof.report.digits import kpa_inhg
from feedproof.report.gallery import Section, gallery_html
from feedproof.report.life_chart import LifeFan, life_svg
from feedproof.report.life_chart import sentence as fan_sentence
from feedproof.report.life_chart import table as fan_table
from feedproof.report.model import Table
from feedproof.report.words import upper_first

RULES = {
    Rule.LIFE: "the life of the elements sets it",
    Rule.LONGEST_DISTANCE: "the longest distance that was declared sets it",
    Rule.CALENDAR: "the calendar sets it",
}
HEAD = ("fuel, °C", "clean kPa", "change at kPa", "alarm kPa")
NO_VALUE = "none"
NONE_NOTE = (
    "None: somewhere in that band a clean line reads as much, so a reading there says nothing."
)


def service_text(told: ServicePlan) -> str:
    """
    Write a service plan for a console.

    Parameters
    ----------
    told : ServicePlan
        The plan.

    Returns
    -------
    str
        Interval, spread of life and check values of each configuration, then the findings.
    """
    parts = [told.title]
    if told.note:
        parts.append(told.note)
    parts += [told.vehicle, "", *(interval_sentence(each) for each in told.configurations)]
    for each in told.configurations:
        parts += ["", name_of(each), *_life(each)]
        if each.check is None:
            continue
        parts += ["", check_sentence(each, each.check)]
        if each.check.bands:
            parts += ["", table(HEAD, [band_row(band) for band in each.check.bands])]
            if any(band.alarm_pa is None for band in each.check.bands):
                parts.append(NONE_NOTE)
    return "\n".join([*parts, "", findings_text(told.findings)])


def name_of(each: ServicedConfiguration) -> str:
    """
    Write the name of a configuration as a person would.

    Parameters
    ----------
    each : ServicedConfiguration
        One configuration.

    Returns
    -------
    str
        Its kits' ids, their underscores as spaces.
    """
    return upper_first(each.configuration.replace("_", " ").replace("+", " + "))


def interval_sentence(each: ServicedConfiguration) -> str:
    """
    Say when elements are changed.

    Parameters
    ----------
    each : ServicedConfiguration
        One configuration.

    Returns
    -------
    str
        The interval with what set it, or why there is none.
    """
    if each.too_restricted and each.check is not None:
        return (
            f"{name_of(each)}: already too restricted: the clean line cannot be shown to keep its"
            f" limits at {each.check.allowed.deciding.name or 'a declared worst condition'}"
            f"{_guard(each)}. No interval and no check value can be given."
        )
    if each.interval is None:
        return f"{name_of(each)}: no interval. {upper_first(each.why_not)}"
    interval = each.interval
    return (
        f"{name_of(each)}: change the elements every {km(interval.distance_m)} km,"
        f" {math.floor(interval.running_time_s / 36000.0) * 10:.0f} h or"
        f" {math.floor(12.0 * interval.calendar_s / YEAR_S + 1e-9):.0f} months, whichever comes"
        f" first; {RULES[interval.rule]}. {_chance(each)}"
    )


def _chance(each: ServicedConfiguration) -> str:
    """Say how many vehicles reach the interval, and how sure that is."""
    if each.reached_fraction is None:
        return ""
    return (
        f"{math.floor(100 * each.reached_fraction + 1e-9):.0f} of 100 such vehicles get there"
        " before the line is at its limit; these are orders of magnitude, and the gauge decides."
    )


def _guard(each: ServicedConfiguration) -> str:
    """Say what is kept from the limit."""
    if each.guard_pa <= 0.0:
        return ""
    return f", {kpa(each.guard_pa)} kPa kept because the prediction may be off by as much"


def km(distance_m: float) -> str:
    """
    Write a distance in two significant figures, rounded down.

    Parameters
    ----------
    distance_m : float
        Distance. [m]

    Returns
    -------
    str
        Thousands apart.
    """
    if math.isinf(distance_m):
        return "beyond what was followed"
    step = 10.0 ** max(math.floor(math.log10(max(distance_m / 1e3, 1.0))) - 1, 0)
    return f"{math.floor(distance_m / 1e3 / step + 1e-9) * step:,.0f}".replace(",", "\u202f")


def _life(each: ServicedConfiguration) -> list[str]:
    """Write the spread of life."""
    if each.life is None:
        return [upper_first(each.why_not)]
    spread = ", ".join(f"{100 * share:.0f} % {km(end)}" for share, end in each.life.quantiles)
    held = ", ".join(
        f"{name.replace('_', ' ')} {100 * share:.0f} %" for name, share in each.dirt_shares.items()
    )
    return [
        f"Kilometres that so many of {each.life.samples} drawn vehicles do not pass: {spread}.",
        f"Of the dirt that is caught: {held}.",
    ]


def check_sentence(each: ServicedConfiguration, check: CheckValues) -> str:
    """
    Say where the gauge is read and what the readings were computed back from.

    Parameters
    ----------
    each : ServicedConfiguration
        One configuration.
    check : CheckValues
        Its check values.

    Returns
    -------
    str
        One or two sentences.
    """
    where = check_point_words(check)
    worst = check.allowed.deciding.name or "the hardest declared condition"
    if check.allowed.unlimited:
        return f"Check point: {where}. No check value: no dirt that was tried reaches a limit."
    if not check.bands:
        return (
            f"Check point: {where}. No check value: the clean line cannot be shown to keep its"
            f" limits at {worst}."
        )
    dirt = check.allowed.dirt_kg or 0.0
    return (
        f"Check point: {where}, with {' or '.join(check.point.readable())} fuel, tank"
        f" {100 * check.point.conditions.fuel_level_fraction:.0f} % full, gauge"
        f" ± {kpa(check.gauge_uncertainty_pa)} kPa. Computed back from"
        f" {worst}: with {1e3 * dirt:.0f} g of dirt in its elements the line is at its limit"
        f" there{_guard(each)}."
    )


def check_point_words(check: CheckValues) -> str:
    """
    Write the check point.

    Parameters
    ----------
    check : CheckValues
        Of one configuration.

    Returns
    -------
    str
        Engine speed and load.
    """
    point = check.point
    speed = f"{60.0 * point.engine_speed_rev_per_s:.0f} rpm"
    if point.loaded:
        return f"{speed} at full load (in neutral this pump draws too little to tell)"
    return f"{speed} in neutral"


def band_row(band: CheckBand) -> tuple[str, str, str, str]:
    """
    Write a band of check values.

    Parameters
    ----------
    band : CheckBand
        One band of fuel temperature.

    Returns
    -------
    tuple of str
        Temperature, clean readings, change-out, alarm.
    """
    low, high = (from_si(each, "degC", "temperature") for each in (band.low_k, band.high_k))
    change, alarm = (
        NO_VALUE if each is None else kpa_inhg(each, decimals=1)
        for each in (band.change_out_pa, band.alarm_pa)
    )
    return (
        f"{band.fuel}, {low:.0f} to {high:.0f}",
        f"{kpa(band.clean_low_pa)} to {kpa(band.clean_high_pa)}",
        change,
        alarm,
    )


def service_html(told: ServicePlan) -> str:
    """
    Write a service plan as one HTML page.

    Parameters
    ----------
    told : ServicePlan
        The plan.

    Returns
    -------
    str
        A whole document with the life fans and the check values.
    """
    return gallery_html(
        title=told.title,
        topic="service and check values",
        vehicle=told.vehicle,
        program_version=told.program,
        invented="invented" in told.note.lower(),
        answers=[interval_sentence(each) for each in told.configurations],
        sections=service_sections(told),
        findings=[str(finding) for finding in told.findings],
    )


def service_sections(told: ServicePlan) -> list[Section]:
    """
    Put a service plan into sections of a page.

    Parameters
    ----------
    told : ServicePlan
        The plan.

    Returns
    -------
    list of Section
        One for each configuration, with its life fan and its check values.
    """
    return [_section(each, row) for row, each in enumerate(told.configurations)]


def _section(each: ServicedConfiguration, row: int) -> Section:
    """Write one configuration's section."""
    check = each.check
    if check is None:
        return Section(title=name_of(each), sentences=(each.why_not,))
    tables: tuple[Table, ...] = ()
    if check.bands:
        tables = (
            Table(
                caption=f"{name_of(each)}: depression at the pump inlet,"
                f" {check_point_words(check)}",
                head=("fuel", "clean", "change the elements at", "alarm"),
                rows=tuple(
                    (f"{cells[0]} °C", f"{cells[1]} kPa", *cells[2:])
                    for cells in map(band_row, check.bands)
                ),
                note="Least of each band for change and alarm. Above the alarm the line can no"
                " longer be shown to keep its limits under the declared worst conditions."
                f" {NONE_NOTE}",
            ),
        )
    section = Section(
        title=name_of(each),
        sentences=(*_life(each), check_sentence(each, check)),
        tables=tables,
    )
    fan = fan_of(each)
    if fan is None:
        return section
    return Section(
        title=section.title,
        sentences=(*section.sentences, fan_sentence(fan)),
        wide=life_svg(fan, name=life_name(row)),
        narrow=life_svg(fan, name=f"{life_name(row)}-narrow", narrow=True),
        tables=tables,
        folded=(fan_table(fan),),
    )


def life_name(row: int) -> str:
    """
    Give the prefix of the ids of a life fan.

    Parameters
    ----------
    row : int
        Place of its configuration in the plan.

    Returns
    -------
    str
        Unique in a page, but for the layouts.
    """
    return f"life-{row}"


def fan_of(each: ServicedConfiguration) -> LifeFan | None:
    """
    Give what a life fan shows.

    Parameters
    ----------
    each : ServicedConfiguration
        One configuration.

    Returns
    -------
    LifeFan or None
        None where not all of it is known.
    """
    band = each.fan_band
    if each.check is None or each.fan is None or each.interval is None or band is None:
        return None
    if band.alarm_pa is None or band.change_out_pa is None:
        return None
    return LifeFan(
        title=name_of(each),
        distance_m=each.fan.distance_m,
        share=each.fan.share,
        depression_pa=each.fan.depression_pa,
        change_out_pa=band.change_out_pa,
        alarm_pa=band.alarm_pa,
        interval_m=each.interval.distance_m,
        where=f"at {check_point_words(each.check)} with {band.fuel} fuel",
        fuel_temperature_k=each.fan_temperature_k,
        levels_for=f"{band.fuel} fuel",
        levels_k=(band.low_k, band.high_k),
    )

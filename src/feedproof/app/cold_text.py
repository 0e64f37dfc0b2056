"""A cold start as text for a console."""

import math

import numpy as np

from feedproof.app.cold_starting import ColdConfiguration, ColdReport
from feedproof.app.text import findings_text, kpa, litres_per_hour, table
from feedproof.core.findings import Finding
from feedproof.core.units import from_si
from feedproof.feedline.cold_data import Assumption
from feedproof.feedline.cranking import ColdPoint

MOMENTS_S = (0.0, 60.0, 120.0, 300.0, 600.0, 1200.0, 1800.0, 2700.0, 3600.0)
"""Moments that are printed, and the one that is named beside them. [s]"""

START_HEAD = (
    "",
    "cranking kPa",
    "room kPa",
    "feed pressure",
    "wanted L/h",
    "given L/h",
    "rail ready",
    "idle kPa",
    "idle given L/h",
)
DRIVE_HEAD = (
    "min",
    "tank °C",
    "filter °C",
    "inlet °C",
    "return °C",
    "wax",
    "drive kPa",
    "full load kPa",
    "room kPa",
    "feed margin",
)
SHOWN = {
    "housing_volume_m3": ("L", "volume"),
    "pump_efficiency_fraction": ("%", "fraction"),
    "drive_speed_fraction": ("%", "fraction"),
    "drive_load_fraction": ("%", "fraction"),
    "drive_rail_pressure_pa": ("MPa", "pressure"),
    "cranking_speed_rev_per_s": ("rpm", "rotation"),
    "idle_speed_rev_per_s": ("rpm", "rotation"),
    "high_pressure_m3_per_rev": ("cm^3", "volume_per_revolution"),
    "volume_m3": ("cm^3", "volume"),
    "bulk_modulus_pa": ("MPa", "pressure"),
    "start_pressure_pa": ("MPa", "pressure"),
}
"""Units in which a figure of the case's silence is read more easily than in SI."""


def cold_text(told: ColdReport) -> str:
    """
    Write a cold start for a console.

    Parameters
    ----------
    told : ColdReport
        The report.

    Returns
    -------
    str
        Start and drive of each configuration, the figures behind them, the findings.
    """
    conditions = told.conditions
    parts = [told.title]
    if told.note:
        parts.append(told.note)
    parts += [
        told.vehicle,
        "",
        f"Soaked at {_celsius(conditions.fuel_temperature_k)} °C, air"
        f" {_celsius(told.ambient_k)} °C and {kpa(conditions.ambient_pressure_abs_pa)} kPa, tank"
        f" {100 * conditions.fuel_level_fraction:.0f} % full; {conditions.fuel} fuel, cloud point"
        f" {_celsius(told.cloud_point_k)} °C, plugging point {_celsius(told.cfpp_k)} °C.",
        "",
        "Start at the soak temperature: depressions at the pump inlet, fuel wanted and given.",
        table(START_HEAD, [_start_row(each) for each in told.configurations]),
        *(f"  {each.configuration}: {each.start.text}" for each in told.configurations),
        *(
            f"  {each.configuration}, full load at once: {each.full_load.text}"
            for each in told.configurations
            if each.full_load is not None and each.full_load.is_starved
        ),
    ]
    for each in told.configurations:
        parts += ["", *_drive(each)]
    parts += [
        "",
        "wax: multiplier of the media's resistance at the filter. Full load: largest depression"
        " and least room and margin along the pull at that moment.",
        "This is a screening model, not a test. Not said by the case, and so taken:",
        *(f"  {_assumption(each)}" for each in told.assumptions),
        "",
        findings_text(_findings(told)),
    ]
    return "\n".join(parts)


def _start_row(told: ColdConfiguration) -> tuple[str, ...]:
    """Lay out cranking and idle."""
    start = told.start
    return (
        told.configuration,
        _depression(start.cranking),
        "unknown" if start.cranking.room_pa is None else kpa(start.cranking.room_pa),
        _feed_pressure(start.cranking),
        litres_per_hour(start.cranking.wanted_m3_per_s),
        litres_per_hour(start.cranking.rail.delivered_m3_per_s),
        "never" if math.isinf(start.build_up_s) else f"{start.build_up_s:.1f} s",
        _depression(start.idle),
        litres_per_hour(start.idle.rail.delivered_m3_per_s),
    )


def _depression(point: ColdPoint) -> str:
    """Write a depression, where there is a state."""
    return kpa(point.depression_pa) if point.has_state else "no state"


def _feed_pressure(point: ColdPoint) -> str:
    """Write the feed pressure over its regulated value."""
    return f"{100 * point.feed_pressure_ratio:.0f} %" if point.has_state else "no state"


def _drive(told: ColdConfiguration) -> list[str]:
    """Lay out the warm-up of one configuration."""
    found = told.warm_up
    moments = set(MOMENTS_S)
    if found.holds_from_s is not None:
        moments.add(found.holds_from_s)
    places = sorted(
        {int(np.argmin(np.abs(found.time_s - each))) for each in moments} | {found.time_s.size - 1}
    )
    since = (
        "no moment for a full load."
        if found.holds_from_s is None
        else f"full load holds from {from_si(found.holds_from_s, 'min', 'duration'):.1f} min on."
    )
    rows = [
        (
            f"{from_si(float(found.time_s[place]), 'min', 'duration'):.1f}",
            *(
                _celsius(float(each[place]))
                for each in (found.tank_k, found.filter_k, found.inlet_k, found.return_k)
            ),
            f"{found.wax_multiplier[place]:.2f}",
            *(
                _known(float(each[place]))
                for each in (found.depression_pa, found.full_load_depression_pa, found.room_pa)
            ),
            _margin(float(found.full_load_feed_margin[place])),
        )
        for place in places
    ]
    return [
        f"{told.configuration}: {since} {found.reason}",
        table(DRIVE_HEAD, rows),
    ]


def _findings(told: ColdReport) -> tuple[Finding, ...]:
    """Gather what must be known, each once."""
    gathered = list(told.findings)
    for each in told.configurations:
        gathered += [*each.start.findings, *each.warm_up.findings]
    return tuple(dict.fromkeys(gathered))


def _assumption(told: Assumption) -> str:
    """Write one figure with its standing."""
    shown, kind = SHOWN.get(told.name, (told.unit, ""))
    value = from_si(told.value, shown, kind) if kind else told.value
    unit = "" if shown == "-" else f" {shown}"
    return f"{told.meaning}: {value:g}{unit} ({told.standing})"


def _margin(margin: float) -> str:
    """Write a feed margin that may not be known."""
    return "unknown" if math.isnan(margin) else f"{margin:.2f}"


def _known(pressure_pa: float) -> str:
    """Write a pressure that may not be known."""
    return "unknown" if math.isnan(pressure_pa) else kpa(pressure_pa)


def _celsius(temperature_k: float) -> str:
    """Write a temperature."""
    return f"{from_si(temperature_k, 'degC', 'temperature'):.1f}"

"""Protection as text for a console."""

import numpy as np

from feedproof.app.protecting import ProtectedConfiguration, Protection
from feedproof.app.text import findings_text, table
from feedproof.report.gallery import Section, gallery_html
from feedproof.report.model import Table
from feedproof.report.protection_chart import protection_svg
from feedproof.report.protection_model import ProtectionLine, ProtectionPicture
from feedproof.report.protection_model import sentence as protection_sentence
from feedproof.report.protection_model import table as protection_table

MOST_SHOWN = 5
"""Configurations in the picture."""
SHOWN = 0.05
"""Exposure ratios below this are written in hundredths of a percent. [-]"""


def protection_text(told: Protection) -> str:
    """
    Write protection for a console.

    Parameters
    ----------
    told : Protection
        The answer.

    Returns
    -------
    str
        The answer in a sentence, codes and exposure, bands of size, events, findings.
    """
    parts = [told.title]
    if told.note:
        parts.append(told.note)
    parts += [
        told.vehicle,
        "",
        *(_sentence(each) for each in told.configurations[1:]),
        "",
        f"Fuel as it comes: {told.delivered_code} (ISO 4406). In the long run, at the duty's mean"
        f" flows of {told.feed_m3_per_s * 3.6e6:.0f} L/h drawn and"
        f" {told.injected_m3_per_s * 3.6e6:.1f} L/h burnt:",
        "",
        table(
            (
                "",
                "code",
                "exposure at 3 um(c)",
                "range",
                "code, seal torn",
                "holds in the end",
            ),
            [_row(each) for each in told.configurations],
        ),
        "",
        "Particles that reach the pump over those without a kit, by size:",
        "",
        table(
            ("um(c)", *(each.configuration for each in told.configurations)),
            [
                (
                    f"{1e6 * low:g}-{1e6 * high:g}",
                    *(ratio(each.relative[band]) for each in told.configurations),
                )
                for band, (low, high) in enumerate(
                    zip(told.edges_m[:-1], told.edges_m[1:], strict=True)
                )
            ],
        ),
        "",
        *_bad_fuel(told),
        "",
        "If an element change lets 1 mg of dirt fall into the clean side, that is worth as much"
        " exposure as this distance: "
        + "; ".join(
            f"{each.configuration} {each.opened_m / 1e3:,.1f} km".replace(",", "\u202f")
            for each in told.configurations
        )
        + ".",
    ]
    for each in told.configurations:
        parts += ["", f"Water, {name_of(each)}:", *each.water.sentences]
    parts += ["", *told.water_assumed]
    parts += ["", "What no filter stops:", *told.unstopped]
    return "\n".join([*parts, "", findings_text(told.findings)])


def protection_html(told: Protection) -> str:
    """
    Write protection as one HTML page.

    Parameters
    ----------
    told : Protection
        The answer.

    Returns
    -------
    str
        A whole document with the protection bars, water, and what no filter stops.
    """
    return gallery_html(
        title=told.title,
        topic="protection",
        vehicle=told.vehicle,
        program_version=told.program,
        invented="invented" in told.note.lower(),
        answers=protection_answers(told),
        sections=protection_sections(told),
        findings=[str(finding) for finding in told.findings],
    )


def protection_answers(told: Protection) -> list[str]:
    """
    Say in one sentence each what the kits buy.

    Parameters
    ----------
    told : Protection
        The answer.

    Returns
    -------
    list of str
        One for each configuration but the baseline.
    """
    return [_sentence(each) for each in told.configurations[1:]]


def protection_sections(told: Protection) -> list[Section]:
    """
    Put protection into sections of a page.

    Parameters
    ----------
    told : Protection
        The answer.

    Returns
    -------
    list of Section
        The protection bars, what no filter stops, water, and what its figures rest on.
    """
    shown = told.configurations[:MOST_SHOWN]
    picture = ProtectionPicture(
        title=f"{told.vehicle}, clean elements",
        edges_m=told.edges_m,
        lines=tuple(_line(each) for each in shown),
        unstopped=told.unstopped_names,
    )
    rest = [each.configuration for each in told.configurations[MOST_SHOWN:]]
    more = (f"Not drawn, in the table below only: {', '.join(rest)}.",) if rest else ()
    bars = Section(
        title="Particles at the pump",
        sentences=(protection_sentence(picture), *more),
        wide=protection_svg(picture),
        narrow=protection_svg(picture, name="protection-narrow", narrow=True),
        tables=(
            Table(
                caption="Fuel at the pump in the long run",
                head=(
                    "in the line",
                    "code",
                    "exposure at 3 \u00b5m(c)",
                    "range",
                    "code, seal torn",
                    "holds in the end",
                ),
                rows=tuple(
                    tuple(cell.replace("_", " ").replace("+", " + ") for cell in _row(each))
                    for each in told.configurations
                ),
                note="Exposure is a ratio to the line without a kit; no life is promised.",
            ),
        ),
        folded=(protection_table(picture),),
    )
    water = [
        Section(title=f"Water: {name_of(each)}", sentences=each.water.sentences)
        for each in told.configurations
    ]
    return [
        bars,
        Section(title="What no filter stops", sentences=told.unstopped),
        *water,
        Section(title="What the water's figures rest on", sentences=told.water_assumed),
    ]


def _line(each: ProtectedConfiguration) -> ProtectionLine:
    """Give a configuration as the picture wants it."""
    water = each.water
    carried = (
        None
        if water.carried_typical is None or water.carried_low is None or water.carried_high is None
        else (water.carried_typical, water.carried_low, water.carried_high)
    )
    return ProtectionLine(
        name=name_of(each),
        relative=np.array([each.relative, each.relative_low, each.relative_high]),
        water_carried=carried,
    )


def name_of(each: ProtectedConfiguration) -> str:
    """
    Write the name of a configuration as a person would.

    Parameters
    ----------
    each : ProtectedConfiguration
        One configuration.

    Returns
    -------
    str
        Its kits' ids, their underscores as spaces.
    """
    return each.configuration.replace("_", " ").replace("+", " + ")


def ratio(value: float) -> str:
    """
    Write a ratio with the digits that it deserves.

    Parameters
    ----------
    value : float
        The ratio. [-]

    Returns
    -------
    str
        Two significant digits; a 1 stays one.
    """
    return f"{value:.2f}" if value >= SHOWN else f"{value:.1g}"


def _sentence(each: ProtectedConfiguration) -> str:
    """Say in one sentence what a configuration buys."""
    if each.unrated:
        return (
            f"{name_of(each)}: cannot tell, for nothing says how {' and '.join(each.unrated)}"
            " filters; the figures below take it as letting all pass."
        )
    if each.exposure > 0.95:
        return (
            f"{name_of(each)}: no fewer particles of the size of the clearances reach the"
            f" pump (ratio {ratio(each.exposure)})."
        )
    return (
        f"{name_of(each)}: of the particles of the size of the clearances about"
        f" {100 * each.exposure:.0f} in 100 still reach the pump ({100 * each.exposure_low:.0f} to"
        f" {100 * each.exposure_high:.0f}, as a vehicle is mild or harsh to ratings)."
    )


def _row(each: ProtectedConfiguration) -> tuple[str, ...]:
    """Write one configuration's row."""
    tears = "; ".join(f"{name} {tear.pump_code}" for name, tear in each.torn_seal.items())
    held = "; ".join(f"{name} {100 * share:.0f} %" for name, share in each.caught_mass.items())
    return (
        each.configuration,
        each.pump_code,
        ratio(each.exposure),
        f"{ratio(each.exposure_low)} to {ratio(each.exposure_high)}",
        tears or "no rated element",
        held or "no rated element",
    )


def _bad_fuel(told: Protection) -> list[str]:
    """Write what one dirty filling does."""
    first = told.configurations[0].bad_fuel
    return [
        f"One dirty filling ({first.code}), exposure over the long run without a kit:",
        "",
        table(
            ("km since", *(each.configuration for each in told.configurations)),
            [
                (
                    f"{distance / 1e3:.0f}",
                    *(ratio(each.bad_fuel.over_baseline[row]) for each in told.configurations),
                )
                for row, distance in enumerate(first.distance_m)
            ],
        ),
    ]

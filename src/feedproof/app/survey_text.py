"""An envelope as text for a console: one small map for each configuration and loading."""

import numpy as np

from feedproof.app.surveying import Survey, SurveyedConfiguration
from feedproof.app.text import findings_text, table
from feedproof.core.units import from_si

LETTERS = {"absolute_pressure": "p", "depression": "d", "gas": "g", "feed_margin": "m"}


def survey_text(survey: Survey) -> str:
    """
    Write an envelope for a console.

    Parameters
    ----------
    survey : Survey
        The envelope.

    Returns
    -------
    str
        Maps, the worst point and the mends of each configuration.
    """
    known = survey.limit_abs_pa is not None
    shown = (
        "Room to the pump maker's limit in kPa, least over the speeds of the pull"
        if known
        else "No limit known: least slack of gas and feed margin in percent"
    )
    parts = [survey.title, survey.note, survey.vehicle, "", f"{shown}; fuel {survey.fuel}."]
    parts.append(
        "A ! marks a point where something is broken, with the limit that binds:"
        " p absolute pressure, d depression, g free gas, m feed margin."
    )
    for each in survey.configurations:
        parts += _maps(survey, each, known=known)
    parts.append(
        f"\nFree gas above {100 * survey.most_free_gas_fraction:.0f} % and feed margins below"
        f" {survey.least_feed_margin} count as broken by the project's own rules (no source)."
    )
    if survey.findings:
        parts.append(findings_text(survey.findings))
    return "\n".join(part for part in parts if part is not None)


def _maps(survey: Survey, each: SurveyedConfiguration, *, known: bool) -> list[str]:
    """Write one configuration's maps."""
    parts = []
    for m, loading in enumerate(each.loadings):
        parts.append(f"\n{each.configuration}, {loading}")
        head = ["fuel", *(f"{altitude:.0f} m" for altitude in survey.altitude_m)]
        rows = []
        for i in reversed(range(len(survey.fuel_temperature_k))):
            degrees = from_si(float(survey.fuel_temperature_k[i]), "degC", "temperature")
            cells = [_cell(each, m, i, j, known=known) for j in range(len(survey.altitude_m))]
            rows.append([f"{degrees:.0f} °C", *cells])
        parts.append(table(head, rows))
    state = "holds everywhere here" if each.worst_slack >= 0.0 else "does not hold everywhere"
    binding = each.worst_binding.replace("_", " ")
    parts.append(f"It {state}; least slack at {each.worst_place}, where {binding} binds.")
    if each.mends:
        parts.append("At the declared worst conditions each of these alone would mend the kit:")
        parts += [
            f"  {mend.what} (slack {100 * mend.slack:+.1f} %;"
            f" one step less {100 * mend.slack_before:+.1f} %)"
            for mend in each.mends
        ]
    return parts


def _cell(each: SurveyedConfiguration, m: int, i: int, j: int, *, known: bool) -> str:
    """Write one point."""
    broken = each.slack[m, i, j] < 0.0
    value = each.room_pa[m, i, j] / 1e3 if known else 100.0 * each.slack[m, i, j]
    text = f"{value:.0f}" if np.isfinite(value) else "?"
    return f"{text}!{LETTERS[each.binding[m][i][j]]}" if broken else text

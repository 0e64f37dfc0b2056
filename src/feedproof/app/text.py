"""Results as text for a console: short tables, one sentence each, nothing that needs colour."""

from collections.abc import Sequence

from feedproof.app.predicting import PredictedConfiguration, Prediction
from feedproof.core.findings import Finding
from feedproof.core.units import from_si

WORDS = {
    "low": "low restriction",
    "noticeable": "noticeable restriction",
    "marginal": "marginal",
    "do_not_release": "do not release",
    "no_limit_known": "no limit known",
}


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """
    Lay out a table in plain text; the first column is left, the others right.

    Parameters
    ----------
    head : sequence of str
        Column heads.
    rows : sequence of sequence of str
        Cells.

    Returns
    -------
    str
        Lines.

    Examples
    --------
    >>> print(table(["part", "kPa"], [["hose", "1.0"], ["banjos", "12.3"]]))
    part     kPa
    hose     1.0
    banjos  12.3
    """
    lines = [list(head), *[list(row) for row in rows]]
    widths = [max(len(line[i]) for line in lines) for i in range(len(head))]
    return "\n".join(
        "  ".join(
            cell.ljust(width) if i == 0 else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        for line in lines
    )


def kpa(pressure_pa: float) -> str:
    """
    Write a pressure in kPa.

    Parameters
    ----------
    pressure_pa : float
        [Pa]

    Returns
    -------
    str
        One decimal.
    """
    return f"{from_si(pressure_pa, 'kPa', 'pressure'):.1f}"


def inhg(pressure_pa: float) -> str:
    """
    Write a pressure in inHg.

    Parameters
    ----------
    pressure_pa : float
        [Pa]

    Returns
    -------
    str
        One decimal.
    """
    return f"{from_si(pressure_pa, 'inHg', 'pressure'):.1f}"


def litres_per_hour(flow_m3_per_s: float) -> str:
    """
    Write a flow in L/h.

    Parameters
    ----------
    flow_m3_per_s : float
        [m3/s]

    Returns
    -------
    str
        One decimal.
    """
    return f"{from_si(flow_m3_per_s, 'L/h', 'flow'):.1f}"


def findings_text(findings: Sequence[Finding]) -> str:
    """
    Write findings, one a line.

    Parameters
    ----------
    findings : sequence of Finding
        Findings.

    Returns
    -------
    str
        Lines; empty when there are none.
    """
    return "\n".join(str(finding) for finding in findings)


def prediction_text(prediction: Prediction) -> str:
    """
    Write a prediction for a console.

    Parameters
    ----------
    prediction : Prediction
        The prediction.

    Returns
    -------
    str
        Tables at the top of the pull, under the conditions asked and the worst ones.
    """
    parts = [prediction.title]
    if prediction.note:
        parts.append(prediction.note)
    parts.append(prediction.vehicle)
    conditions = prediction.conditions
    parts.append(
        f"\nPredicted at the top of the pull: {conditions.fuel} fuel at"
        f" {from_si(conditions.fuel_temperature_k, 'degC', 'temperature'):.0f} °C, air"
        f" {kpa(conditions.ambient_pressure_abs_pa)} kPa, tank"
        f" {100 * conditions.fuel_level_fraction:.0f} % full"
    )
    parts.append(_configurations(prediction.configurations))
    parts.append(_influences(prediction.configurations))
    names = dict.fromkeys(each.pull.conditions.name for each in prediction.worst)
    for name in names:
        parts.append(f"\nDeclared worst conditions: {name}")
        parts.append(
            _configurations(
                tuple(each for each in prediction.worst if each.pull.conditions.name == name)
            )
        )
    parts.append(
        "\nDepressions at the pump inlet; the range holds what is not known of the transition from"
        " laminar to turbulent flow\n(friction rule"
        f" {prediction.friction_rule}) and of the inputs that have a range. A prediction is not a"
        " test."
    )
    if prediction.findings:
        parts.append("\n" + findings_text(prediction.findings))
    return "\n".join(parts)


def _influences(configurations: Sequence[PredictedConfiguration]) -> str:
    """Name the inputs that move the depression most, where any has a range."""
    lines = []
    for each in configurations:
        largest = [
            f"{part.path} {kpa(part.low_pa)} to {kpa(part.high_pa)} kPa"
            for part in each.influences[:3]
        ]
        if largest:
            lines.append(f"  {each.configuration}: {'; '.join(largest)}")
    return "\n".join(["What moves it most within its range:", *lines]) if lines else ""


def _configurations(configurations: Sequence[PredictedConfiguration]) -> str:
    """Lay out one table of configurations with the reasons below it."""
    head = (
        "",
        "depression kPa",
        "(inHg)",
        "range kPa",
        "added kPa",
        "absolute kPa",
        "room kPa",
        "return L/h",
        "feed margin",
        "in words",
    )
    rows = []
    for each in configurations:
        pull, verdict = each.pull, each.assessment
        depression = float(pull.depression_pa[-1])
        rows.append(
            (
                each.configuration,
                kpa(depression),
                f"({inhg(depression)})",
                f"{kpa(each.depression_low_pa)} to {kpa(each.depression_high_pa)}",
                "" if each.configuration == "baseline" else f"{kpa(verdict.added_pa)}",
                kpa(float(pull.pressure_abs_pa[-1])),
                "unknown" if verdict.room_pa is None else kpa(verdict.room_pa),
                litres_per_hour(float(pull.return_m3_per_s[-1])),
                f"{float(pull.feed_margin[-1]):.2f}",
                WORDS[verdict.grade.value],
            )
        )
    reasons = [
        f"  {each.configuration}: {' '.join(each.assessment.reasons)}"
        for each in configurations
        if each.assessment.grade.value in ("do_not_release", "marginal")
    ]
    return "\n".join([table(head, rows), *reasons])

"""The tables of a report: runs, conditions, bias, findings, inputs, hashes."""

import math
from collections.abc import Callable

from feedproof.case.conditions import Conditions
from feedproof.case.run import Role
from feedproof.core.findings import Finding
from feedproof.core.units import from_si
from feedproof.evidence.reduced import ReducedRun
from feedproof.report import digits, words
from feedproof.report.model import Publication, Table

_ROLES = {
    Role.WARM_UP: "warm-up",
    Role.COMPARE: "compared",
    Role.LOADED: "loaded element",
    Role.CONTROL: "positive control",
}


def runs_table(publication: Publication) -> Table:
    """
    List the runs in the order in which they were driven.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    Table
        One row for each run; what was not measured is empty.
    """
    return Table(
        caption="Runs in the order driven",
        head=(
            "run",
            "in the line",
            "what for",
            "session",
            "mean wheel power, kW",
            "corrected, kW",
            "highest depression, kPa",
            "caught return, L/h",
            "fuel, °C",
            "tank, %",
        ),
        rows=tuple(_run_row(publication, run) for run in publication.runs),
        note=(
            "Mean wheel power is the geometric mean over the pull, as measured; the corrected one"
            " is brought to standard air. ≥ marks a sensor at its end: the true figure is higher."
        ),
    )


def basis_table(publication: Publication) -> Table:
    """
    List what each answer rests on.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    Table
        Uncertainty, coverage, repeatability and runs of each outcome that has an estimate.
    """
    rows = []
    for verdict in publication.verdicts:
        for raw in verdict.outcomes:
            outcome = words.shown(raw)
            if outcome.estimate is None:
                continue
            percent = outcome.unit == "percent"
            spread = digits.percent if percent else digits.kpa
            rows.append(
                (
                    f"{publication.kit(verdict.configuration).short}: "
                    f"{words.MEASURES[outcome.measure]}",
                    _or_empty(outcome.standard_uncertainty, spread),
                    _or_empty(outcome.coverage_factor, lambda v: digits.decimal(v, 2)),
                    _or_empty(outcome.degrees_of_freedom, lambda v: f"{v:.3g}"),
                    _or_empty(outcome.repeatability, spread),
                    _or_empty(outcome.flip_repeatability, spread) if percent else "",
                    outcome.order,
                    "; ".join(
                        f"{publication.kit(name).short}: {', '.join(map(str, numbers))}"
                        for name, numbers in outcome.runs.items()
                    ),
                )
            )
    return Table(
        caption="What each answer rests on",
        head=(
            "answer",
            "standard uncertainty",
            "coverage factor",
            "effective degrees of freedom",
            "repeatability used",
            "answer turns at a repeatability of",
            "order",
            "runs used",
        ),
        rows=tuple(rows),
        note="In an order A is without the kit, B with it.",
    )


def repeatability_table(publication: Publication) -> Table:
    """
    List the declared repeatability and its sources.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    Table
        One row for each measure.
    """
    rows = []
    for declared in publication.repeatability:
        pressure = "depression" in declared.measure.value or "rail" in declared.measure.value
        size = (digits.kpa if pressure else digits.percent)(declared.standard_deviation)
        rows.append(
            (
                words.MEASURES[declared.measure],
                size,
                f"{declared.degrees_of_freedom:.3g}",
                declared.source or "not given",
            )
        )
    return Table(
        caption="Repeatability declared before the runs",
        head=("measure", "standard deviation", "degrees of freedom", "source"),
        rows=tuple(rows),
    )


def bias_table(publication: Publication) -> Table:
    """
    Set measured against predicted depression.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    Table
        One row for each configuration.
    """
    rows = [
        (
            publication.kit(bias.configuration).short,
            digits.kpa_inhg(bias.predicted_pa),
            f"{digits.kpa(bias.predicted_low_pa)} to {digits.kpa(bias.predicted_high_pa)}",
            digits.kpa_inhg(bias.predicted_pa + bias.mean_pa),
            f"{digits.kpa(bias.mean_pa)} ±\u00a0{digits.kpa(bias.u_pa)}",
        )
        for bias in publication.biases
    ]
    return Table(
        caption="Depression at the pump inlet, measured against predicted",
        head=(
            "in the line",
            "predicted",
            "range of the prediction",
            "measured",
            "measured less predicted",
        ),
        rows=tuple(rows),
        note=f"Friction between laminar and turbulent flow: {publication.friction_rule}.",
    )


def conditions_table(publication: Publication) -> Table:
    """
    List reference and worst conditions with what is left at the pump.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    Table
        One row for each configuration and set of conditions.
    """
    rows = []
    for stairs in publication.staircases:
        depression = stairs.steps[-1].depression_after_pa
        rows.append(
            (
                "reference",
                publication.kit(stairs.configuration).short,
                conditions_words(stairs.conditions),
                digits.kpa_inhg(depression),
                digits.kpa(stairs.steps[-1].pressure_abs_after_pa, decimals=1),
                _room(stairs.room_pa, 0.0),
            )
        )
    for point in publication.worst:
        rows.append(
            (
                point.conditions.name or "worst",
                publication.kit(point.configuration).short,
                conditions_words(point.conditions),
                f"{digits.kpa_inhg(point.depression_pa)} ±\u00a0{digits.kpa(point.expanded_u_pa)}",
                digits.kpa(point.pressure_abs_pa, decimals=1),
                _room(point.room_pa, point.expanded_u_pa),
            )
        )
    return Table(
        caption="Pump inlet under the reference and the declared worst conditions, predicted",
        head=(
            "conditions",
            "in the line",
            "which are",
            "depression",
            "absolute pressure",
            "room to the limit",
        ),
        rows=tuple(rows),
    )


def findings_table(publication: Publication) -> Table:
    """
    List what was found in runs and case, and the runs left out.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    Table
        Runs first, in their order.
    """
    rows = [
        (f"run {out.number}", "left out", out.reason, publication.kit(out.configuration).short)
        for out in publication.exclusions
    ]
    rows += _run_findings(publication)
    rows += [_finding_row(finding.place, finding) for finding in publication.findings]
    return Table(
        caption="Findings",
        head=("where", "weight", "what", "what to do, or which line"),
        rows=tuple(rows),
    )


def steps_table(publication: Publication) -> Table:
    """
    List every step of the cleaning of every run.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    Table
        One row for each step.
    """
    rows = [
        (f"run {run.number}", step.name.replace("_", " "), step.detail)
        for run in publication.runs
        for step in run.steps
    ]
    return Table(
        caption="What was done to each run",
        head=("run", "step", "what it did"),
        rows=tuple(rows),
    )


def inputs_table(publication: Publication) -> Table:
    """
    List the numbers of the case with their ranges and sources.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    Table
        One row for each number.
    """
    rows = tuple(
        (value.path, value.text, value.range_text, value.source or "source not given")
        for value in publication.inputs
    )
    return Table(caption="Inputs", head=("value", "as written", "range", "source"), rows=rows)


def fingerprints_table(publication: Publication) -> Table:
    """
    List the hashes of everything that the report was made from.

    Parameters
    ----------
    publication : Publication
        The report.

    Returns
    -------
    Table
        One row for each file or result.
    """
    rows = tuple((one.name, one.kind, one.sha256) for one in publication.fingerprints)
    return Table(
        caption="Hashes of inputs and results", head=("name", "kind", "SHA-256"), rows=rows
    )


def conditions_words(conditions: Conditions) -> str:
    """
    Write conditions as a list of words.

    Parameters
    ----------
    conditions : Conditions
        The conditions.

    Returns
    -------
    str
        Fuel, temperature, air, level, and what departs from an ordinary state.
    """
    parts = [
        f"{conditions.fuel} fuel at {digits.temperature(conditions.fuel_temperature_k)}",
        f"air {digits.kpa(conditions.ambient_pressure_abs_pa, decimals=1)}",
        f"tank {digits.decimal(100.0 * conditions.fuel_level_fraction, 0)}\u00a0% full",
    ]
    if conditions.road_pitch_rad:
        degrees = from_si(conditions.road_pitch_rad, "deg", "angle")
        parts.append(f"climb of {digits.decimal(degrees, 1)}°")
    if conditions.tank_depression_pa:
        parts.append(f"tank {digits.kpa(conditions.tank_depression_pa, decimals=1)} below the air")
    for name, mass in conditions.captured_mass_kg.items():
        grams = from_si(mass, "g", "mass")
        parts.append(f"{name.replace('_', ' ')} holding {digits.decimal(grams, 1)}\u00a0g")
    return ", ".join(parts)


def _run_row(publication: Publication, run: ReducedRun) -> tuple[str, ...]:
    """Write one run."""
    depression = run.depression_max_pa
    mark = "≥\u00a0" if run.depression_censored else ""
    return (
        str(run.number),
        publication.kit(run.configuration).short,
        _ROLES[run.role],
        run.session,
        _power(run.power_loss_log_percent),
        _power(run.corrected_power_loss_log_percent),
        ""
        if depression is None
        else mark + digits.decimal(from_si(depression, "kPa", "pressure"), 2),
        ""
        if run.return_m3_per_s is None
        else digits.decimal(from_si(run.return_m3_per_s, "L/h", "flow"), 1),
        ""
        if run.fuel_temperature_k is None
        else digits.decimal(from_si(run.fuel_temperature_k, "degC", "temperature"), 1),
        ""
        if run.fuel_level_fraction is None
        else digits.decimal(100.0 * run.fuel_level_fraction, 0),
    )


def _power(loss_percent: float | None) -> str:
    """Turn a loss on the log scale back into the mean power that it stands for."""
    if loss_percent is None:
        return ""
    return digits.decimal(from_si(math.exp(-loss_percent / 100.0), "kW", "power"), 2)


def _room(room_pa: float | None, u_pa: float) -> str:
    """Write the room to the limit, and say when it is none or not sure."""
    if room_pa is None:
        return "no limit known"
    text = digits.kpa_inhg(room_pa, decimals=1)
    if room_pa < 0.0:
        return f"{text}: beyond the limit"
    # The verdict's guard band is one-sided: 1.645 of the two standard uncertainties printed.
    return f"{text}: less than its guard band" if room_pa < 1.645 * u_pa / 2.0 else text


def _run_findings(publication: Publication) -> list[tuple[str, str, str, str]]:
    """List the findings of runs, each once with the runs that it is about, warnings first."""
    about: dict[tuple[str, str, str], list[int]] = {}
    for run in publication.runs:
        if run.depression_censored:
            text = "The depression sensor was at the end of its range: its figure is a lower bound."
            about.setdefault(("warning", text, ""), []).append(run.number)
        for finding in run.findings:
            # A log's name holds the run's number: without it the finding is that of other runs.
            message = finding.message.replace(f"run{run.number:02d}_", "run.._")
            key = (finding.level.value, message, finding.remedy)
            about.setdefault(key, []).append(run.number)
    rows = [
        (_run_numbers(numbers), level, message, remedy)
        for (level, message, remedy), numbers in about.items()
    ]
    return sorted(rows, key=lambda row: ("error", "warning", "note").index(row[1]))


def _run_numbers(numbers: list[int]) -> str:
    """Write run numbers, neighbours as a range."""
    spans: list[list[int]] = []
    for number in sorted(set(numbers)):
        if spans and number == spans[-1][-1] + 1:
            spans[-1].append(number)
        else:
            spans.append([number])
    texts = [f"{s[0]}-{s[-1]}" if len(s) > 2 else ", ".join(map(str, s)) for s in spans]
    return f"run{'s' if len(set(numbers)) > 1 else ''} {', '.join(texts)}"


def _finding_row(place: str, finding: Finding) -> tuple[str, str, str, str]:
    """Write one finding."""
    return (place, finding.level.value, finding.message, finding.remedy)


def _or_empty(value: float | None, write: Callable[[float], str]) -> str:
    """Write a figure when there is one."""
    return "" if value is None else write(value)

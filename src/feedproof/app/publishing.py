"""The verb ``publish``: from prediction and proof to what the report room prints."""

import hashlib
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from feedproof.app.envelope_maps import envelope_maps
from feedproof.app.predicting import PredictedConfiguration, Prediction, staircase_at
from feedproof.app.proof import Proof, WorstPrediction
from feedproof.app.spoken import (
    RULE_WORDS,
    catch_words,
    configuration_words,
    exclusions,
    labelled_runs,
    spoken,
)
from feedproof.case.case import Case
from feedproof.case.margin import Measure
from feedproof.core.units import from_si
from feedproof.core.values import SourcedValue
from feedproof.evidence.trial import BASELINE
from feedproof.feedline.staircase import Staircase
from feedproof.report.budget_tables import budget_table
from feedproof.report.model import (
    CurveBand,
    Fingerprint,
    InletPoint,
    InputValue,
    MeasuredInlet,
    Publication,
    Table,
)


def build_publication(
    case: Case,
    prediction: Prediction,
    proof: Proof | None,
    fingerprints: Sequence[Fingerprint],
) -> Publication:
    """
    Put together what page and paper print.

    Parameters
    ----------
    case : Case
        The case.
    prediction : Prediction
        Of every configuration.
    proof : Proof or None
        None where nothing was recorded yet: then only predictions are printed.
    fingerprints : sequence of Fingerprint
        Hashes of inputs and results.

    Returns
    -------
    Publication
        Complete; the report room asks nobody.
    """
    configurations = _order(prediction, proof)
    told = spoken(case, proof) if proof else None
    pump = case.vehicle.pump
    shown = tuple(
        each for each in prediction.configurations if each.configuration in configurations
    )
    return Publication(
        title=case.title,
        note=case.note,
        vehicle_name=case.vehicle.name,
        program_version=prediction.program,
        computed=proof.computed if proof else datetime.now(UTC).replace(microsecond=0),
        friction_rule=RULE_WORDS[case.friction_rule],
        start_m_per_s=case.pull.start_m_per_s,
        stop_m_per_s=case.pull.stop_m_per_s,
        reference=case.reference,
        kits=tuple(configuration_words(case, name) for name in configurations),
        staircases=tuple(_staircase(case, each, proof) for each in shown),
        predictions=tuple(each.pull for each in shown),
        runs=labelled_runs(case, proof),
        verdicts=proof.verdicts if proof else (),
        margins=case.margins,
        limit_abs_pa=pump.maker_limit_abs_pa,
        limit_source=pump.maker_limit_source,
        worst=_worst_points(case, prediction, proof),
        measured_inlets=_measured_inlets(case, proof),
        curve_claims=told.curve_claims if told else (),
        biases=told.biases if told else (),
        losses=told.losses if told else (),
        bands=_bands(proof),
        budgets=_budgets(proof),
        repeatability=tuple((proof or case).repeatability.values()),
        exclusions=exclusions(case),
        findings=(*prediction.findings, *(proof.findings if proof else ())),
        inputs=_inputs(case),
        fingerprints=tuple(fingerprints),
        cautions=_cautions(case),
        catch_words=catch_words(case),
        envelopes=envelope_maps(case, configurations),
    )


def _staircase(case: Case, each: PredictedConfiguration, proof: Proof | None) -> Staircase:
    """
    Draw the staircase where it was measured: in the highest speed bin of the comparison.

    A measured point beside a staircase of another speed would make the line look better than it
    is, since the depression rises with speed.
    """
    speeds = [float(run.speed_m_per_s[-1]) for run in proof.runs] if proof else []
    if not speeds:
        return each.staircase
    kits = () if each.configuration == BASELINE else tuple(each.configuration.split("+"))
    return staircase_at(case, kits, each.pull.conditions, min(speeds))


def _order(prediction: Prediction, proof: Proof | None) -> tuple[str, ...]:
    """Give the configurations to speak of: the baseline, then what was judged or predicted."""
    if proof is None or not proof.verdicts:
        return tuple(each.configuration for each in prediction.configurations)
    return (BASELINE, *(verdict.configuration for verdict in proof.verdicts))


def _worst_points(
    case: Case, prediction: Prediction, proof: Proof | None
) -> tuple[InletPoint, ...]:
    """Give each configuration at each worst condition, moved by what the test showed."""
    limit = case.vehicle.pump.maker_limit_abs_pa
    moved = {(each.configuration, each.condition): each for each in proof.worst} if proof else {}
    points = []
    for each in prediction.worst:
        tested = moved.get((each.configuration, each.pull.conditions.name))
        if proof is not None and tested is None:
            continue
        points.append(_worst_point(each, tested, limit))
    return tuple(points)


def _worst_point(
    each: PredictedConfiguration, tested: WorstPrediction | None, limit: float | None
) -> InletPoint:
    """Give one configuration at one worst condition."""
    ambient = each.pull.conditions.ambient_pressure_abs_pa
    pressure = float(each.pull.pressure_abs_pa[-1]) if tested is None else tested.moved_abs_pa
    width = each.depression_high_pa - each.depression_low_pa
    expanded = width / 2.0 if tested is None else 2.0 * tested.u_pa
    return InletPoint(
        configuration=each.configuration,
        conditions=each.pull.conditions,
        depression_pa=ambient - pressure,
        expanded_u_pa=expanded,
        pressure_abs_pa=pressure,
        room_pa=None if limit is None else pressure - limit,
    )


def _measured_inlets(case: Case, proof: Proof | None) -> tuple[MeasuredInlet, ...]:
    """Give the measured depression at the top of the comparison band."""
    if proof is None:
        return ()
    groups: dict[str, list[tuple[int, float, bool]]] = {}
    for run in labelled_runs(case, proof):
        if run.depression_max_pa is not None:
            groups.setdefault(run.configuration, []).append(
                (run.number, run.depression_max_pa, run.depression_censored)
            )
    # Where no scatter is known there is no uncertainty to draw, and no point is drawn without.
    u = {
        each.configuration: each.expanded_u_pa
        for each in proof.biases
        if np.isfinite(each.expanded_u_pa)
    }
    return tuple(
        MeasuredInlet(
            configuration=name,
            depression_pa=float(np.mean([value for _, value, _ in found])),
            expanded_u_pa=u[name],
            runs=tuple(number for number, _, _ in found),
            censored=any(censored for _, _, censored in found),
        )
        for name, found in groups.items()
        if name in u
    )


def _bands(proof: Proof | None) -> tuple[CurveBand, ...]:
    """Copy the means with their bands; the baseline once, from the first session."""
    if proof is None:
        return ()
    bands: dict[tuple[Measure, str], CurveBand] = {}
    for each in proof.curves:
        if not np.isfinite(each.upper).all():
            continue
        bands.setdefault(
            (each.measure, each.configuration),
            CurveBand(
                measure=each.measure,
                configuration=each.configuration,
                speed_m_per_s=each.speed_m_per_s,
                mean=each.mean,
                lower=each.lower,
                upper=each.upper,
            ),
        )
    return tuple(bands.values())


def _budgets(proof: Proof | None) -> tuple[Table, ...]:
    """Give the uncertainty budgets as tables."""
    if proof is None:
        return ()
    return tuple(budget_table(budget) for budget in proof.budgets)


def _inputs(case: Case) -> tuple[InputValue, ...]:
    """List the numbers of the case with range and source; those of runs stand with the runs."""
    return tuple(
        InputValue(
            path=path,
            text=value.text or f"{value.value:g}",
            range_text=_range_text(value),
            source=value.source,
        )
        for path, value in case.values.items()
        if not path.startswith("run[")
    )


def _range_text(value: SourcedValue) -> str:
    """Write a range relative to the value, since the value's own unit is in its text."""
    if value.low is None or value.high is None or value.value == 0.0:
        return ""
    low, high = (100.0 * (end / value.value - 1.0) for end in (value.low, value.high))
    return f"{low:+.0f} % to {high:+.0f} %"


def _cautions(case: Case) -> tuple[str, ...]:
    """Give the cautions that this case calls for."""
    cautions = []
    if case.vehicle.pump.maker_limit_abs_pa is None:
        cautions.append(
            "No inlet limit from the pump's maker is known: nothing here says that the line is"
            " within one."
        )
    cautions.extend(
        f"Fuel {fuel.name} holds {100 * fuel.petrol_fraction:.0f} % petrol: no filter takes it out;"
        " do not start the engine."
        for fuel in case.fuels.values()
        if fuel.petrol_fraction > 0.0
    )
    if case.reference.fuel_temperature_k > 333.15:
        degrees = from_si(case.reference.fuel_temperature_k, "degC", "temperature")
        cautions.append(
            f"Fuel at {degrees:.0f} °C is near its flash point: keep sources of fire away."
        )
    return tuple(cautions)


def fingerprints_of(
    case: Case, case_sha256: str, journal: Path, results: Mapping[str, str]
) -> tuple[Fingerprint, ...]:
    """
    List the hashes of everything that a report rests on.

    Parameters
    ----------
    case : Case
        With its logs.
    case_sha256 : str
        Hash of the document.
    journal : Path
        The journal; it need not exist.
    results : mapping of str to str
        Ids of the results by kind.

    Returns
    -------
    tuple of Fingerprint
        Document, journal, logs, results.
    """
    found = [Fingerprint(kind="case", name="case.toml", sha256=case_sha256)]
    if journal.is_file():
        digest = hashlib.sha256(journal.read_bytes()).hexdigest()
        found.append(Fingerprint(kind="journal", name=journal.name, sha256=digest))
    found += [
        Fingerprint(kind="log", name=log.name, sha256=log.sha256)
        for run in case.runs
        for log in run.logs
    ]
    found += [Fingerprint(kind="result", name=kind, sha256=key) for kind, key in results.items()]
    return tuple(found)

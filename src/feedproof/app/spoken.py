"""What words and tables need of a judged case, without any prediction being computed."""

from dataclasses import replace

import numpy as np

from feedproof.app.configurations import label
from feedproof.app.proof import Proof, VerdictWords
from feedproof.case.case import Case
from feedproof.case.run import Role
from feedproof.evidence.reduced import ReducedRun
from feedproof.evidence.trial import BASELINE
from feedproof.report.model import Bias, Exclusion, KitWords, Publication
from feedproof.report.model_claims import CurveClaim, ModelledLoss

RULE_WORDS = {
    "blend_colebrook": "64/Re to Re 2000, Colebrook above 4000, a straight line in Re between",
    "blend_blasius": "64/Re to Re 2000, Blasius above 4000, a straight line in Re between",
    "churchill": "Churchill's formula for all regimes",
    "laminar_late": "laminar carried to Re 4000: a lower edge",
    "turbulent_early": "turbulent from Re 2000: an upper edge",
}


def spoken(case: Case, proof: Proof) -> Publication:
    """
    Gather what the sentences on a judged case need.

    Parameters
    ----------
    case : Case
        The case.
    proof : Proof
        Its verdicts.

    Returns
    -------
    Publication
        Without predictions, pictures and hashes.
    """
    pump = case.vehicle.pump
    names = (BASELINE, *(verdict.configuration for verdict in proof.verdicts))
    return Publication(
        title=case.title,
        note=case.note,
        vehicle_name=case.vehicle.name,
        program_version=proof.program,
        computed=proof.computed,
        friction_rule=RULE_WORDS[case.friction_rule],
        start_m_per_s=case.pull.start_m_per_s,
        stop_m_per_s=case.pull.stop_m_per_s,
        reference=case.reference,
        kits=tuple(configuration_words(case, name) for name in names),
        staircases=(),
        predictions=(),
        runs=labelled_runs(case, proof),
        verdicts=proof.verdicts,
        margins=case.margins,
        limit_abs_pa=pump.maker_limit_abs_pa,
        limit_source=pump.maker_limit_source,
        curve_claims=_claims(proof),
        biases=_biases(proof),
        losses=_losses(proof),
        repeatability=tuple(proof.repeatability.values()),
        exclusions=exclusions(case),
        findings=proof.findings,
        catch_words=catch_words(case),
    )


def verdict_words(case: Case, proof: Proof) -> tuple[VerdictWords, ...]:
    """
    Write every verdict for a customer and for an engineer.

    Parameters
    ----------
    case : Case
        The case.
    proof : Proof
        Its verdicts.

    Returns
    -------
    tuple of VerdictWords
        One for each verdict.
    """
    from feedproof.app.verdict_text import engineer_text
    from feedproof.report.customer import customer_text

    publication = spoken(case, proof)
    return tuple(
        VerdictWords(
            configuration=verdict.configuration,
            customer=customer_text(publication, verdict),
            engineer=engineer_text(publication, verdict),
        )
        for verdict in proof.verdicts
    )


def configuration_words(case: Case, name: str) -> KitWords:
    """
    Put a configuration into words.

    Parameters
    ----------
    case : Case
        The case.
    name : str
        ``baseline``, or kits joined by ``+`` with a state behind ``@``.

    Returns
    -------
    KitWords
        Short name and title.
    """
    if name == BASELINE:
        return KitWords(configuration=name, short="no kit", title="the vehicle without a kit")
    plain, _, state = name.partition("@")
    kits = [case.kits[kit_id] for kit_id in plain.split("+")]
    title = " with ".join(kit.title for kit in kits)
    short = " + ".join(kit.id.replace("_", " ") for kit in kits)
    if state:
        title = f"{title}, element {state}"
        short = f"{short}, {state}"
    return KitWords(
        configuration=name, short=short, title=title, control=any(kit.control for kit in kits)
    )


def labelled_runs(case: Case, proof: Proof | None) -> tuple[ReducedRun, ...]:
    """
    Give the reduced runs under the names that the verdicts use.

    Parameters
    ----------
    case : Case
        The case.
    proof : Proof or None
        With the reduced runs.

    Returns
    -------
    tuple of ReducedRun
        Empty without a proof.
    """
    if proof is None:
        return ()
    roles = {run.number: (run.kits, run.role) for run in case.runs}
    return tuple(replace(run, configuration=label(*roles[run.number])) for run in proof.runs)


def exclusions(case: Case) -> tuple[Exclusion, ...]:
    """
    List the runs that were left out, with the reason.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    tuple of Exclusion
        Warm-up runs too.
    """
    return tuple(
        Exclusion(
            number=run.number,
            configuration=label(run.kits, run.role),
            reason=run.excluded or "warm-up run, discarded as planned",
        )
        for run in case.runs
        if run.excluded or run.role is Role.WARM_UP
    )


def catch_words(case: Case) -> str:
    """
    Say at which steady speed the return was caught, or nothing when over the pull.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    str
        To begin a sentence.
    """
    speeds = {
        run.caught_return.engine_speed_rev_per_s
        for run in case.runs
        if run.caught_return and run.caught_return.hold == "steady"
    }
    known = sorted(60.0 * speed for speed in speeds if speed is not None)
    if not known:
        return ""
    return f"At a steady {' or '.join(f'{speed:.0f}' for speed in known)} rpm"


def _claims(proof: Proof) -> tuple[CurveClaim, ...]:
    """Copy the claims over the whole curve."""
    return tuple(
        CurveClaim(
            configuration=each.configuration,
            measure=each.measure,
            holds=each.holds,
            sentence=each.sentence,
            low_m_per_s=each.low_m_per_s,
            high_m_per_s=each.high_m_per_s,
            worst_upper_percent=_finite(each.worst_upper_percent),
            worst_speed_m_per_s=each.worst_speed_m_per_s,
            open_speed_m_per_s=each.open_speed_m_per_s,
            loss_at_m_per_s=each.loss_at_m_per_s,
            scatter_from=each.scatter_from,
            degrees_of_freedom=each.degrees_of_freedom,
            session=each.session,
        )
        for each in proof.claims
    )


def _losses(proof: Proof) -> tuple[ModelledLoss, ...]:
    """Copy measured losses beside the model's."""
    return tuple(
        ModelledLoss(
            configuration=each.configuration,
            measure=each.measure,
            measured_percent=each.measured_percent,
            measured_expanded_percent=each.measured_expanded_percent,
            predicted_percent=each.predicted_percent,
            predicted_low_percent=each.predicted_low_percent,
            predicted_high_percent=each.predicted_high_percent,
            agrees=each.agrees,
            sentence=each.sentence,
        )
        for each in proof.losses
    )


def _biases(proof: Proof) -> tuple[Bias, ...]:
    """Copy measured against predicted, with the session where a name comes twice."""
    return tuple(
        Bias(
            configuration=each.configuration,
            mean_pa=each.bias_pa,
            u_pa=each.expanded_u_pa,
            predicted_pa=each.predicted_pa,
            predicted_low_pa=each.predicted_low_pa,
            predicted_high_pa=each.predicted_high_pa,
            sentence=f"Session {each.session}: {each.sentence}",
        )
        for each in proof.biases
        if np.isfinite(each.expanded_u_pa)
    )


def _finite(value: float) -> float | None:
    """Take a limit without bound as none."""
    return value if np.isfinite(value) else None

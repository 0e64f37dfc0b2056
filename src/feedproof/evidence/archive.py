"""
Run-to-run scatter: what was declared from earlier repeats, and what these runs say themselves.

Few runs cannot estimate their own scatter, so a declared figure helps; the runs may contradict
it, and then it is dropped.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from feedproof.case.margin import Repeatability
from feedproof.core.errors import InputError
from feedproof.evidence.students import fisher_survival

# An archive that the runs contradict at this probability is dropped.
_CONFLICT = 0.05
# A repeatability that somebody judged, without repeats behind it, counts for no more than this.
JUDGED_DOF_CAP = 4.0
JUDGED_TAG = "judged_repeatability_capped"
# Scatter below this share of the figures themselves is rounding, not repeatability.
_ROUNDING = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Archive:
    """
    Run-to-run standard deviation from earlier repeats on the same rig, or as judged.

    Parameters
    ----------
    standard_deviation : float
        On the scale of the losses compared, above 0.
    degrees_of_freedom : float
        How well it is known, above 0. [-]
    source : str
        Where it comes from.
    caution : str
        What a reader must know of it, in one sentence; empty when there is nothing.
    """

    standard_deviation: float
    degrees_of_freedom: float
    source: str = ""
    caution: str = ""

    def __post_init__(self) -> None:
        """Refuse figures that are not above 0."""
        for name in ("standard_deviation", "degrees_of_freedom"):
            value = getattr(self, name)
            if not value > 0.0:
                raise InputError.at(
                    f"repeatability {self.source or '(no source)'}",
                    f"{name} is {value}: must be above 0",
                )


def archive_of(repeatability: Repeatability | None) -> Archive | None:
    """
    Turn a declared repeatability into an archive.

    Parameters
    ----------
    repeatability : Repeatability or None
        As declared; a source that begins with "judged" counts for at most
        `JUDGED_DOF_CAP` degrees of freedom, and the archive's caution says so.

    Returns
    -------
    Archive or None
        None when nothing was declared.
    """
    if repeatability is None:
        return None
    dof = repeatability.degrees_of_freedom
    judged = repeatability.source.strip().lower().startswith("judged")
    capped = judged and dof > JUDGED_DOF_CAP
    return Archive(
        standard_deviation=repeatability.standard_deviation,
        degrees_of_freedom=JUDGED_DOF_CAP if capped else dof,
        source=repeatability.source,
        caution=(
            f"The declared repeatability was judged, not measured: it counts for"
            f" {JUDGED_DOF_CAP:g} degrees of freedom, not for the {dof:g} that were declared."
            if capped
            else ""
        ),
    )


def pooled_archive(
    standard_deviations: Sequence[float], degrees_of_freedom: Sequence[float], source: str = ""
) -> Archive:
    """
    Pool the standard deviations of several sets of repeats.

    Parameters
    ----------
    standard_deviations : sequence of float
        Of each set, each after removing that session's straight drift.
    degrees_of_freedom : sequence of float
        Of each. [-]
    source : str
        Where they come from.

    Returns
    -------
    Archive
        Root of the mean variance weighted by degrees of freedom, and their sum.

    Notes
    -----
    ISO 5725-2, repeatability standard deviation.

    Examples
    --------
    >>> round(pooled_archive([3.0, 4.0], [2, 2]).standard_deviation ** 2, 9)
    12.5
    """
    total = math.fsum(degrees_of_freedom)
    pairs = zip(standard_deviations, degrees_of_freedom, strict=True)
    variance = math.fsum(dof * s * s for s, dof in pairs) / total
    return Archive(standard_deviation=math.sqrt(variance), degrees_of_freedom=total, source=source)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """
    The run-to-run scatter that a comparison uses.

    Parameters
    ----------
    standard_deviation, degrees_of_freedom : float or None
        None when neither the runs nor a declaration give one.
    data_sd : float or None
        From these runs alone; None when no degree of freedom is left.
    tags, reasons : tuple of str
        Marks and sentences.
    """

    standard_deviation: float | None
    degrees_of_freedom: float | None
    data_sd: float | None
    tags: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()


def settle_scatter(
    residual_sum: float, degrees_of_freedom: int, archive: Archive | None, scale: float
) -> Scatter:
    """
    Settle the scatter from these runs and the archive.

    Parameters
    ----------
    residual_sum : float
        Residual sum of squares of the fit.
    degrees_of_freedom : int
        Runs less fitted constants. [-]
    archive : Archive or None
        Declared repeatability.
    scale : float
        Largest figure compared; scatter that is rounding of it is no scatter.

    Returns
    -------
    Scatter
        The runs' own figure, the declared one, or both pooled by degrees of freedom unless the
        runs scatter more than the declared one allows (F test at 5 %).
    """
    dof = degrees_of_freedom
    data_sd = math.sqrt(residual_sum / dof) if dof > 0 else None
    if archive is None:
        return _scatter_of_runs(data_sd, dof, scale)
    s0, dof0 = archive.standard_deviation, archive.degrees_of_freedom
    capped = (JUDGED_TAG,) if archive.caution else ()
    cautions = (archive.caution,) if archive.caution else ()
    if data_sd is None:
        why = (
            f"This rests on a repeatability of {s0:.3g} taken from"
            f" {archive.source or 'a declaration without source'} ({dof0:g} degrees of freedom),"
            " not on these runs."
        )
        return Scatter(
            standard_deviation=s0,
            degrees_of_freedom=dof0,
            data_sd=None,
            tags=("rests_on_declared_repeatability", *capped),
            reasons=(why, *cautions),
        )
    if fisher_survival((data_sd / s0) ** 2, dof, dof0) < _CONFLICT:
        why = (
            f"These runs scatter by {data_sd:.3g}, more than the declared repeatability of"
            f" {s0:.3g} allows: the declared one was not used."
        )
        return Scatter(
            standard_deviation=data_sd,
            degrees_of_freedom=float(dof),
            data_sd=data_sd,
            tags=("archive_dropped",),
            reasons=(why,),
        )
    total = dof0 + dof
    pooled = math.sqrt((dof0 * s0 * s0 + residual_sum) / total)
    return Scatter(
        standard_deviation=pooled,
        degrees_of_freedom=total,
        data_sd=data_sd,
        tags=capped,
        reasons=cautions,
    )


def _scatter_of_runs(data_sd: float | None, dof: int, scale: float) -> Scatter:
    """Take the runs' own scatter, where they have one."""
    if data_sd is not None and data_sd > _ROUNDING * scale:
        return Scatter(standard_deviation=data_sd, degrees_of_freedom=float(dof), data_sd=data_sd)
    why = (
        "These runs leave nothing to estimate their own scatter from, and no repeatability was"
        " declared."
        if data_sd is None
        else "The runs repeat to the last digit: that is no repeatability, and none was declared."
    )
    return Scatter(
        standard_deviation=None,
        degrees_of_freedom=None,
        data_sd=data_sd,
        tags=("repeatability_unknown",),
        reasons=(why,),
    )

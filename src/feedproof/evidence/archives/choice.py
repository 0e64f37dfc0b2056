"""
Which repeatability of the archive a case may use.

Its own sessions never count (they would count twice), and the archive is read as it stood before
the case's first run with a kit: nothing that was added, replaced or withdrawn later can have been
chosen by what it does to the answer.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum

from feedproof.case.margin import Measure, Repeatability
from feedproof.evidence.archives.lines import UNITS, Line, RunMark, standing
from feedproof.evidence.archives.opening import OpeningScatter, opening_scatter
from feedproof.evidence.archives.pooling import Pool, pools_of

FROM_ARCHIVE = "archive"
"""A declared repeatability with this source asks for the archive's figure in its place."""


class Plumbing(StrEnum):
    """How often the line was opened inside a case's sessions."""

    ONE = "one"
    EACH = "each"
    SHARED = "shared"


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """
    What a case asks the archive.

    Parameters
    ----------
    rig, procedure : str, str
        As the case names them.
    plumbing : Plumbing
        One throughout each session, a new one for each run, or shared by some runs.
    marks : tuple of RunMark
        The case's own runs.
    before : datetime or None
        Start of its first run with a kit; None when there is none yet.
    declared : mapping of Measure to Repeatability
        As the case declares them.
    """

    rig: str
    procedure: str
    plumbing: Plumbing
    marks: tuple[RunMark, ...]
    before: datetime | None
    declared: Mapping[Measure, Repeatability]


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchiveFigure:
    """
    What the archive says on one measure of a case, and whether it is used.

    Parameters
    ----------
    measure : Measure
        Of what.
    used : bool
        True when the answer rests on it.
    reason : str
        Why it is used, or why not.
    unit : str
        ``log-percent`` or ``Pa``.
    standard_deviation, degrees_of_freedom : float or None
        Pooled; None when the archive has no figure.
    setup_standard_deviation : float or None
        Scatter of opening the line, where the case needs one and the archive can tell it.
    replumbed : bool
        Whether the line was opened before every repeat of the figure.
    sessions : tuple of str
        Sessions pooled, as ``case / session``.
    lines : tuple of str
        Hashes of their lines.
    first, last : datetime or None
        Of the runs.
    standing_out : tuple of str
        Sessions that scatter more than the rest; they are in the figure.
    invented : tuple of str
        Sessions of cases that say that their data are invented; they are in the figure.
    """

    measure: Measure
    used: bool
    reason: str
    unit: str
    standard_deviation: float | None = None
    degrees_of_freedom: float | None = None
    setup_standard_deviation: float | None = None
    replumbed: bool = False
    sessions: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    first: datetime | None = None
    last: datetime | None = None
    standing_out: tuple[str, ...] = ()
    invented: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchiveUse:
    """
    What was looked up in an archive for a case, kept in its result.

    Parameters
    ----------
    file : str
        Name of the archive's file.
    sha256 : str
        Hash of its last line at that moment, which stands for all lines.
    rig, procedure : str, str
        Asked for.
    before : datetime or None
        Only what was in the archive before this moment counts: the case's first run with a kit.
    figures : tuple of ArchiveFigure
        One for each measure.
    """

    file: str
    sha256: str
    rig: str
    procedure: str
    before: datetime | None
    figures: tuple[ArchiveFigure, ...]


def eligible(lines: Sequence[Line], asked: Asked) -> tuple[Line, ...]:
    """
    Give the lines that a case may use.

    Parameters
    ----------
    lines : sequence of Line
        All lines of the archive.
    asked : Asked
        The case.

    Returns
    -------
    tuple of Line
        Of its rig and procedure, as they stood before its first run with a kit, without its own
        sessions.
    """
    return tuple(
        line
        for line in standing(lines, asked.before)
        if line.data is not None
        and (line.data.rig, line.data.procedure) == (asked.rig, asked.procedure)
        and not line.data.shares_runs_with(asked.marks)
    )


def figures_for(lines: Sequence[Line], asked: Asked) -> tuple[ArchiveFigure, ...]:
    """
    Say for each measure what the archive holds for a case, and whether it is used.

    Parameters
    ----------
    lines : sequence of Line
        All lines of the archive.
    asked : Asked
        The case.

    Returns
    -------
    tuple of ArchiveFigure
        One for each measure that the archive keeps.
    """
    mine = eligible(lines, asked)
    pools = {(pool.measure, pool.replumbed): pool for pool in pools_of(mine)}
    return tuple(
        _figure(measure, pools.get((measure, False)), pools.get((measure, True)), asked)
        for measure in UNITS
    )


def with_archive(
    declared: Mapping[Measure, Repeatability], figures: Sequence[ArchiveFigure]
) -> dict[Measure, Repeatability]:
    """
    Put the figures that are used in the place of what was declared.

    Parameters
    ----------
    declared : mapping of Measure to Repeatability
        As the case has them.
    figures : sequence of ArchiveFigure
        From `figures_for`.

    Returns
    -------
    dict of Measure to Repeatability
        Declared drift stays; a declared scatter of opening the line goes before the archive's.
    """
    found = dict(declared)
    for figure in figures:
        s, dof = figure.standard_deviation, figure.degrees_of_freedom
        if not figure.used or s is None or dof is None:
            continue
        before = declared.get(figure.measure) or Repeatability(
            measure=figure.measure, standard_deviation=s, degrees_of_freedom=dof, source=""
        )
        found[figure.measure] = replace(
            before,
            standard_deviation=s,
            degrees_of_freedom=dof,
            source=_source(figure),
            setup_standard_deviation=before.setup_standard_deviation
            or figure.setup_standard_deviation
            or 0.0,
        )
    return found


def _source(figure: ArchiveFigure) -> str:
    """Name where a figure comes from, for the sentence that says what an answer rests on."""
    count = len(figure.sessions)
    dates = ""
    if figure.first and figure.last:
        dates = f", {figure.first:%Y-%m-%d} to {figure.last:%Y-%m-%d}"
    invented = f", {len(figure.invented)} of them INVENTED" if figure.invented else ""
    sessions = f"{count} session{'s'[: count != 1]}{dates}{invented}"
    return f"the archive of this rig and procedure ({sessions})"


def _figure(
    measure: Measure, as_plumbed: Pool | None, replumbed: Pool | None, asked: Asked
) -> ArchiveFigure:
    """Choose between the two kinds of repeats and between archive and declaration."""
    pool, lacking = _fitting_pool(as_plumbed, replumbed, asked.plumbing)
    declared = asked.declared.get(measure)
    wanted = declared is None or asks_for_archive(declared)
    if pool is None:
        more = ""
        if declared is not None and wanted:
            more = "; the declared figure stands, though its source is the archive"
        return ArchiveFigure(
            measure=measure, used=False, reason=f"{lacking}{more}", unit=UNITS[measure]
        )
    opening: OpeningScatter | None = None
    if asked.plumbing is Plumbing.SHARED and as_plumbed is not None and replumbed is not None:
        opening = opening_scatter(
            replumbed.standard_deviation,
            replumbed.degrees_of_freedom,
            as_plumbed.standard_deviation,
            as_plumbed.degrees_of_freedom,
        )
    members = (
        pool.members
        if opening is None or replumbed is None
        else (
            *pool.members,
            *replumbed.members,
        )
    )
    if declared is None:
        reason = "the case declares none"
    elif wanted:
        reason = 'the case declares it with source "archive"'
    else:
        reason = (
            f"the case declares a repeatability of its own ({declared.standard_deviation:.4g},"
            f" {declared.degrees_of_freedom:g} degrees of freedom), which goes before the archive"
        )
    return ArchiveFigure(
        measure=measure,
        used=wanted,
        reason=reason,
        unit=pool.unit,
        standard_deviation=pool.standard_deviation,
        degrees_of_freedom=pool.degrees_of_freedom,
        setup_standard_deviation=None if opening is None else opening.standard_deviation,
        replumbed=pool.replumbed,
        sessions=tuple(f"{member.case} / {member.session}" for member in members),
        lines=tuple(member.sha256 for member in members),
        first=pool.first,
        last=pool.last,
        standing_out=tuple(
            f"{member.case} / {member.session} ({member.stands_out})"
            for member in pool.members
            if member.stands_out
        ),
        invented=tuple(
            f"{member.case} / {member.session}" for member in members if member.invented
        ),
    )


def asks_for_archive(declared: Repeatability) -> bool:
    """
    Say whether a declared repeatability asks for the archive's figure.

    Parameters
    ----------
    declared : Repeatability
        As the case has it.

    Returns
    -------
    bool
        True when its source is the one word ``archive``.
    """
    return declared.source.strip().lower() == FROM_ARCHIVE


def _fitting_pool(
    as_plumbed: Pool | None, replumbed: Pool | None, plumbing: Plumbing
) -> tuple[Pool | None, str]:
    """Take the repeats that hold what varies in the case, or say why none do."""
    if as_plumbed is None and replumbed is None:
        return None, "the archive has no session for this rig and procedure that may be used"
    if plumbing is Plumbing.EACH:
        return replumbed, (
            "the case opens the line before every run; the archive has only repeats in one"
            " plumbing, which scatter too little for it"
        )
    return as_plumbed, (
        "the archive has only repeats with the line opened before each, and the case does not"
        " open it before every run"
    )

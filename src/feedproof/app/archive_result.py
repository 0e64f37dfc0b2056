"""What ``archive show`` says: the document's types."""

from dataclasses import dataclass
from datetime import datetime

from feedproof.case.margin import Measure
from feedproof.core.findings import Finding
from feedproof.evidence.archives.opening import OpeningScatter
from feedproof.evidence.archives.pooling import Pool


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """
    What opening the line adds to the scatter of one measure.

    Parameters
    ----------
    rig, procedure : str, str
        Where and how.
    measure : Measure
        Of what.
    unit : str
        ``log-percent`` or ``Pa``.
    scatter : OpeningScatter
        Estimate and limit, from repeats with and without re-plumbing.
    """

    rig: str
    procedure: str
    measure: Measure
    unit: str
    scatter: OpeningScatter


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawn:
    """
    A session that no longer counts.

    Parameters
    ----------
    line : int
        Where it stands.
    case, session : str
        Which.
    recorded : datetime
        When it was withdrawn or replaced.
    who, why : str
        By whom and for what reason.
    replaced_by : int or None
        Line of the session in its place; None when it was withdrawn.
    """

    line: int
    case: str
    session: str
    recorded: datetime
    who: str
    why: str
    replaced_by: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchiveReport:
    """
    What ``archive show`` says.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-archive-report`` and its version.
    file, sha256 : str, str
        The file and the hash of its last line.
    sessions : int
        Sessions that stand. [-]
    pools : tuple of Pool
        One for each rig, procedure, measure and kind of plumbing.
    openings : tuple of Opening
        Where both kinds of plumbing are there.
    withdrawn : tuple of Withdrawn
        Sessions that no longer count.
    findings : tuple of Finding
        What must be known.
    """

    format: str
    version: int
    file: str
    sha256: str
    sessions: int
    pools: tuple[Pool, ...]
    openings: tuple[Opening, ...]
    withdrawn: tuple[Withdrawn, ...]
    findings: tuple[Finding, ...] = ()

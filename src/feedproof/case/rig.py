"""Where and how a case's runs are driven: what its repeatability belongs to."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Rig:
    """
    The rig and the procedure of a case's runs.

    Parameters
    ----------
    name : str
        The rig, by the workshop's own name for it.
    procedure : str
        How a run is driven, in one sentence; two sessions are pooled only when both words and
        rig are the same.
    """

    name: str
    procedure: str

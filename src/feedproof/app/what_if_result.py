"""What an answer "what if" holds."""

from dataclasses import dataclass

from feedproof.app.what_if_asked import WhatIf
from feedproof.case.conditions import Conditions
from feedproof.core.findings import Finding
from feedproof.feedline.assess import Assessment
from feedproof.feedline.envelope import Binding
from feedproof.feedline.feed_circuit import Leg
from feedproof.feedline.pull import PullPrediction
from feedproof.feedline.pump_state import FeedState
from feedproof.feedline.staircase import Staircase


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIfConfiguration:
    """
    One configuration under the conditions of a question.

    Parameters
    ----------
    configuration, short, title : str
        Name, short name for labels, and what it is.
    place : int
        0 for the baseline, then 1 and 2: colour and dash of its lines.
    pull : PullPrediction
        Along the pull; its edges are not numbers where ranges were left out.
    staircase : Staircase
        At the speed asked about.
    legs : tuple of Leg
        The same point with everything beside the way, for the drawing.
    owners : mapping of str to str
        Kit of each part that a kit brings.
    state : FeedState
        The solved point.
    assessment : Assessment
        In words.
    depression_low_pa, depression_high_pa : float or None
        Range of the depression at that speed, as `predict` gives it; None where ranges were left
        out. [Pa]
    room_low_pa, room_high_pa : float or None
        Range of the room to the maker's limit; None without limit or ranges. [Pa]
    slack : float
        Least share of a limit that is left, over the pull. [-]
    binding : Binding
        The limit that has it.
    binding_speed_m_per_s : float
        Where. [m/s]
    vapour_margin_pa, back_pressure_pa : float
        As in `predict`. [Pa]
    """

    configuration: str
    short: str
    title: str
    place: int
    pull: PullPrediction
    staircase: Staircase
    legs: tuple[Leg, ...]
    owners: dict[str, str]
    state: FeedState
    assessment: Assessment
    depression_low_pa: float | None
    depression_high_pa: float | None
    room_low_pa: float | None
    room_high_pa: float | None
    slack: float
    binding: Binding
    binding_speed_m_per_s: float
    vapour_margin_pa: float
    back_pressure_pa: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """
    A configuration that has no state under these conditions.

    Parameters
    ----------
    configuration, short : str
        Which.
    findings : tuple of Finding
        Why.
    """

    configuration: str
    short: str
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIfAnswer:
    """
    The answer to one question.

    Parameters
    ----------
    asked : WhatIf
        The question.
    conditions : Conditions
        What it means.
    speed_m_per_s : float
        Road speed of staircase and drawing. [m/s]
    engine_speed_rev_per_s : float
        Engine speed there. [rev/s]
    limit_abs_pa : float or None
        The pump maker's limit; None when none is known. [Pa]
    configurations : tuple of WhatIfConfiguration
        The baseline first.
    refused : tuple of Refused
        Kits that have no answer; the others have theirs.
    findings : tuple of Finding
        What must be known, as `predict` says it.
    """

    asked: WhatIf
    conditions: Conditions
    speed_m_per_s: float
    engine_speed_rev_per_s: float
    limit_abs_pa: float | None
    configurations: tuple[WhatIfConfiguration, ...]
    refused: tuple[Refused, ...]
    findings: tuple[Finding, ...]

    def of(self, configuration: str) -> WhatIfConfiguration | None:
        """
        Find a configuration.

        Parameters
        ----------
        configuration : str
            Its name.

        Returns
        -------
        WhatIfConfiguration or None
            None where it has no answer.
        """
        return next((e for e in self.configurations if e.configuration == configuration), None)

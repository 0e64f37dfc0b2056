"""The answer "what if" as a document, with everything that the next question can be made of."""

from dataclasses import dataclass
from pathlib import Path

from feedproof.app.what_if import prepared_case
from feedproof.app.what_if_asked import WhatIf
from feedproof.app.what_if_controls import Controls
from feedproof.app.what_if_result import Refused, WhatIfConfiguration
from feedproof.case.conditions import Conditions
from feedproof.core.findings import Finding
from feedproof.feedline.assess import Assessment
from feedproof.feedline.envelope import Binding
from feedproof.feedline.pull import PullPrediction
from feedproof.feedline.staircase import Staircase


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIfLine:
    """
    One configuration under the conditions of a question.

    Parameters
    ----------
    configuration, short, title : str
        Name, short name for labels, and what it is.
    depression_pa, pressure_abs_pa : float
        At the pump inlet, at the road speed that was asked about. [Pa]
    depression_low_pa, depression_high_pa : float or None
        Range of the depression, as `predict` gives it; None where ranges were left out. [Pa]
    room_pa : float or None
        Absolute pressure above the maker's limit; None when none is known. [Pa]
    room_low_pa, room_high_pa : float or None
        Its range; None without limit or ranges. [Pa]
    assessment : Assessment
        In words.
    slack : float
        Least share of a limit that is left, over the pull. [-]
    binding : Binding
        The limit that has it.
    binding_speed_m_per_s : float
        Where. [m/s]
    vapour_margin_pa, back_pressure_pa : float
        As in `predict`. [Pa]
    pull : PullPrediction
        Curves along the pull; their edges are null where ranges were left out.
    staircase : Staircase
        Loss by loss at that speed.
    """

    configuration: str
    short: str
    title: str
    depression_pa: float
    pressure_abs_pa: float
    depression_low_pa: float | None
    depression_high_pa: float | None
    room_pa: float | None
    room_low_pa: float | None
    room_high_pa: float | None
    assessment: Assessment
    slack: float
    binding: Binding
    binding_speed_m_per_s: float
    vapour_margin_pa: float
    back_pressure_pa: float
    pull: PullPrediction
    staircase: Staircase


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIfReport:
    """
    The answer to one question "what if".

    Parameters
    ----------
    format, version : str, int
        ``feedproof-what-if`` and its version.
    asked : WhatIf
        The question.
    conditions : Conditions
        What it means.
    speed_m_per_s : float
        Road speed of the figures and the staircase. [m/s]
    engine_speed_rev_per_s : float
        Engine speed there. [rev/s]
    limit_abs_pa : float or None
        The pump maker's limit; None when none is known. [Pa]
    configurations : tuple of WhatIfLine
        The baseline first.
    refused : tuple of Refused
        Kits that have no answer; the others have theirs.
    controls : Controls
        What can be asked: choices, and sliders with their ends and where they stand.
    findings : tuple of Finding
        What must be known, as `predict` says it.
    """

    format: str
    version: int
    asked: WhatIf
    conditions: Conditions
    speed_m_per_s: float
    engine_speed_rev_per_s: float
    limit_abs_pa: float | None
    configurations: tuple[WhatIfLine, ...]
    refused: tuple[Refused, ...]
    controls: Controls
    findings: tuple[Finding, ...]


def what_if(path: Path, asked: WhatIf) -> WhatIfReport:
    """
    Answer a question about a case; nothing is kept of it.

    Parameters
    ----------
    path : Path
        Folder of the case.
    asked : WhatIf
        The question.

    Returns
    -------
    WhatIfReport
        Figures equal to those of `predict` under the same conditions.

    Raises
    ------
    MissingError
        There is no case.
    InputError
        All that is wrong with the case or the question at once.
    """
    prepared = prepared_case(path)
    found = prepared.answer(asked)
    return WhatIfReport(
        format="feedproof-what-if",
        version=1,
        asked=asked,
        conditions=found.conditions,
        speed_m_per_s=found.speed_m_per_s,
        engine_speed_rev_per_s=found.engine_speed_rev_per_s,
        limit_abs_pa=found.limit_abs_pa,
        configurations=tuple(_line(each, found.limit_abs_pa) for each in found.configurations),
        refused=found.refused,
        controls=prepared.controls(asked),
        findings=found.findings,
    )


def _line(found: WhatIfConfiguration, limit_abs_pa: float | None) -> WhatIfLine:
    """Lay one configuration out, without what only a drawing needs."""
    last = found.staircase.steps[-1]
    pressure = last.pressure_abs_after_pa
    return WhatIfLine(
        configuration=found.configuration,
        short=found.short,
        title=found.title,
        depression_pa=last.depression_after_pa,
        pressure_abs_pa=pressure,
        depression_low_pa=found.depression_low_pa,
        depression_high_pa=found.depression_high_pa,
        room_pa=None if limit_abs_pa is None else pressure - limit_abs_pa,
        room_low_pa=found.room_low_pa,
        room_high_pa=found.room_high_pa,
        assessment=found.assessment,
        slack=found.slack,
        binding=found.binding,
        binding_speed_m_per_s=found.binding_speed_m_per_s,
        vapour_margin_pa=found.vapour_margin_pa,
        back_pressure_pa=found.back_pressure_pa,
        pull=found.pull,
        staircase=found.staircase,
    )

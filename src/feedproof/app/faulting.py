"""The verb ``faults``: how faults of the line would read on this vehicle."""

from dataclasses import dataclass, replace
from typing import Any

from feedproof.app.predicting import BASELINE, kit_sets
from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, note
from feedproof.feedline.faults import Fault, Readings, fault_readings, readings
from feedproof.feedline.signatures import Resolution, faults_that_fit, signs_of

SEVERITIES = (0.1, 0.3, 1.0)
"""Of each fault: slight, plain and grave on the scale of `feedproof.feedline.faults`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultLine:
    """
    One fault at one severity.

    Parameters
    ----------
    fault : str
        Its name.
    severity : float
        0 to 1. [-]
    change : Readings
        Difference from the sound vehicle.
    signs : str
        One sign for each reading, in the order of `Readings`.
    fitting : tuple of str
        Faults that such readings leave open.
    """

    fault: str
    severity: float
    change: Readings
    signs: str
    fitting: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultTable:
    """
    What ``faults`` says.

    Parameters
    ----------
    format, version, program : str, int, str
        ``feedproof-faults``, its version, and the version of the program.
    title, note, vehicle, configuration : str
        What is asked about.
    conditions : Conditions
        Under which.
    sound : Readings
        Of the vehicle without a fault.
    resolution : Resolution
        Below which a change is none.
    lines : tuple of FaultLine
        Every fault that this line can have.
    findings : tuple of Finding
        What must be known.
    """

    format: str
    version: int
    program: str
    title: str
    note: str
    vehicle: str
    configuration: str
    conditions: Conditions
    sound: Readings
    resolution: Resolution
    lines: tuple[FaultLine, ...]
    findings: tuple[Finding, ...]


def fault_table(
    case: Case, *, kits: tuple[str, ...] = (), changes: dict[str, Any] | None = None
) -> FaultTable:
    """
    Simulate every fault on a case's vehicle.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Kits in the line.
    changes : dict, optional
        Fields of `Conditions` to set in place of the case's reference conditions.

    Returns
    -------
    FaultTable
        Readings, signs and what they leave open.

    Raises
    ------
    MissingError
        No such kit or fuel.
    """
    from feedproof import __version__

    conditions = replace(case.reference, **(changes or {}))
    name = "+".join(kits) if kits else BASELINE
    kit_sets(case, (name,))
    body, line, fuel = case.vehicle, case.line_with(kits), case.fuels[conditions.fuel]
    resolution = Resolution()
    lines: list[FaultLine] = []
    findings = [
        note(
            "faults",
            "one fault at a time, severities invented: the signs tell, not the figures. A hose"
            " behind the filter reads like the filter.",
        )
    ]
    for fault in Fault:
        if fault is Fault.NONE:
            continue
        for severity in SEVERITIES:
            try:
                change = fault_readings(
                    body, line, fuel, conditions, case.friction_rule, fault, severity
                )
            except InputError as problem:
                findings += problem.findings
                break
            lines.append(
                FaultLine(
                    fault=fault.value,
                    severity=severity,
                    change=change,
                    signs="".join(signs_of(change, resolution).values()),
                    fitting=tuple(each.value for each in faults_that_fit(change, resolution)),
                )
            )
    return FaultTable(
        format="feedproof-faults",
        version=1,
        program=__version__,
        title=case.title,
        note=case.note,
        vehicle=case.vehicle.name,
        configuration=name,
        conditions=conditions,
        sound=readings(body, line, fuel, conditions, case.friction_rule),
        resolution=resolution,
        lines=tuple(lines),
        findings=tuple(findings),
    )

"""What the states of a prediction make worth saying: vapour, back-pressure, ranges of formulas."""

from collections.abc import Iterator, Sequence
from typing import Protocol

from feedproof.app.spread import unplaced
from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.core.findings import Finding, note, warning
from feedproof.core.units import from_si
from feedproof.feedline.pull import PullPrediction
from feedproof.physics.fuel_check import fuel_faults

MOST_BACK_PRESSURE_PA = 20e3
"""Of a pump's return: makers allow 20 to 50 kPa (memory, no source). [Pa]"""


class Predicted(Protocol):
    """What is looked at of a predicted configuration."""

    @property
    def configuration(self) -> str:
        """Give its name."""

    @property
    def vapour_margin_pa(self) -> float:
        """Give the pressure above vapour pressure and port loss. [Pa]."""

    @property
    def back_pressure_pa(self) -> float:
        """Give the pressure of the return line on the pump. [Pa]."""


class Pulled(Predicted, Protocol):
    """A predicted configuration with its pull."""

    @property
    def pull(self) -> PullPrediction:
        """Give it along the pull."""


def findings_of(
    case: Case, configurations: Sequence[Pulled], conditions: Conditions
) -> tuple[Finding, ...]:
    """
    Say what the reader of a prediction must know.

    Parameters
    ----------
    case : Case
        For pump and fuel.
    configurations : sequence of Predicted
        At the top of the pull.
    conditions : Conditions
        Under which.

    Returns
    -------
    tuple of Finding
        Of the case, of the fuel, and of the states.
    """
    return (
        *_case_findings(case, configurations, conditions),
        *state_findings(case, configurations, conditions),
    )


def state_findings(
    case: Case, configurations: Sequence[Predicted], conditions: Conditions
) -> Iterator[Finding]:
    """
    Say what the states of a prediction show.

    Parameters
    ----------
    case : Case
        For the fuel.
    configurations : sequence of Predicted
        At the top of the pull.
    conditions : Conditions
        Under which.

    Yields
    ------
    Finding
        Boiling in the pump's port, a return line that presses back, formulas used outside the
        ranges of their sources.
    """
    for each in configurations:
        if each.vapour_margin_pa < 0.0:
            yield warning(
                f"prediction {each.configuration}",
                f"the fuel boils in the pump's port: {_kpa(each.vapour_margin_pa)} below vapour"
                " pressure and port loss.",
                "Cool the fuel, lower the depression, or use a fuel without light ends.",
            )
        if each.back_pressure_pa > MOST_BACK_PRESSURE_PA:
            yield warning(
                f"prediction {each.configuration}",
                f"the return line holds {_kpa(each.back_pressure_pa)} against the pump, more than"
                f" {_kpa(MOST_BACK_PRESSURE_PA)}: pump case and seals (limit from memory).",
                "Widen the return line, or ask the pump's maker.",
            )
    for fault in fuel_faults(case.fuels[conditions.fuel], conditions.fuel_temperature_k):
        yield note(f"fuel.{conditions.fuel}", f"{fault.rstrip('.')}.")


def _case_findings(
    case: Case, configurations: Sequence[Pulled], conditions: Conditions
) -> tuple[Finding, ...]:
    """Say what the reader of a prediction must know."""
    findings = []
    fuel = case.fuels[conditions.fuel]
    if case.vehicle.pump.maker_limit_abs_pa is None:
        findings.append(
            warning(
                "vehicle.pump.maker_limit_abs",
                "no limit known: the pump's maker states no least absolute inlet pressure here,"
                " so nothing is called within a limit.",
                "Ask the pump's maker; 15 inHg at sea level is common practice, not a limit.",
            )
        )
    if conditions.fuel_temperature_k < fuel.cloud_point_k:
        findings.append(
            warning(
                f"fuel.{fuel.name}",
                "the fuel is below its cloud point: wax on the media is a screening figure only,"
                " and fine elements plug nearer the cloud point than the CFPP says.",
                "Use a fuel for the season, and do not rely on this figure.",
            )
        )
    if fuel.petrol_fraction > 0.0:
        findings.append(
            warning(
                f"fuel.{fuel.name}",
                f"the fuel holds {100 * fuel.petrol_fraction:.0f} % petrol: no filter takes it"
                " out, it lubricates badly and its vapour burns at room temperature.",
                "Do not start the engine; have the tank emptied by somebody licensed to.",
            )
        )
    findings.extend(
        note(path, "has a range that the range of the prediction does not take in yet.")
        for path in unplaced(case)
    )
    findings.extend(
        warning(
            f"prediction {each.configuration}",
            "starved: the injection is cut on part of the pull.",
            "See the staircase for the part that costs most.",
        )
        for each in configurations
        if bool(each.pull.starved.any())
    )
    return tuple(findings)


def _kpa(value_pa: float) -> str:
    """Write a pressure."""
    return f"{from_si(value_pa, 'kPa', 'pressure'):.1f} kPa"

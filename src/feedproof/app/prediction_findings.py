"""What the states of a prediction make worth saying: vapour, back-pressure, ranges of formulas."""

from collections.abc import Iterator, Sequence
from typing import Protocol

from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.core.findings import Finding, note, warning
from feedproof.core.units import from_si
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


def _kpa(value_pa: float) -> str:
    """Write a pressure."""
    return f"{from_si(value_pa, 'kPa', 'pressure'):.1f} kPa"

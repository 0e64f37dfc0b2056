"""
What runs at these flows can teach: one flow, two flows or a range, with and without the element.

With one flow the viscous and the inertial part of an element cannot be parted, and the loss is
known at that flow only.  With two flows the curve of the line between them is not known.  Each
case is fitted with what it can bear, and what it cannot is said.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, note, warning
from feedproof.core.units import from_si
from feedproof.evidence.fit.element_points import CurveAt, FloatArray
from feedproof.evidence.fit.element_run import ElementRun

SAME_FLOW_SHARE = 0.04
"""Flows within this share of their mean count as one flow: the project's own rule. [-]"""


class Constants(StrEnum):
    """Which depression without flow (head, gauge's bias) the fit allows."""

    SHARED = "shared"
    CONFIGURATION = "configuration"
    RUN = "run"


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """
    Columns of one fit.

    Parameters
    ----------
    constants : int
        Fitted constants: 0, 1 for all runs, or 2, one for each configuration.
    line : tuple of int
        Powers of the flow in the line's own curve.
    added : tuple of int
        Powers of the flow in what the element adds.
    """

    constants: int
    line: tuple[int, ...]
    added: tuple[int, ...]

    @property
    def size(self) -> int:
        """Give the number of parameters."""
        return self.constants + len(self.line) + len(self.added)


@dataclass(frozen=True, slots=True, kw_only=True)
class FlowPlan:
    """
    What the flows of the runs allow.

    Parameters
    ----------
    designs : tuple of Design
        One, or two that bracket the line's unknown curve.
    only_flow_m3_per_s : float or None
        The one flow at which the added depression is known; None for a range. [m3/s]
    lowest_m3_per_s, highest_m3_per_s : float
        Range of flows seen with and without the element alike. [m3/s]
    findings : tuple of Finding
        What cannot be learned.
    """

    designs: tuple[Design, ...]
    only_flow_m3_per_s: float | None
    lowest_m3_per_s: float
    highest_m3_per_s: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ElementCurve:
    """
    The line's loss with and without the added element, in flows over a unit flow.

    Parameters
    ----------
    design : Design
        Columns.
    candidate : tuple of bool
        For each run.
    viscosity_ratio, density_ratio : tuple of float
        Of each run over the stated fuel. [-]
    """

    design: Design
    candidate: tuple[bool, ...]
    viscosity_ratio: tuple[float, ...]
    density_ratio: tuple[float, ...]

    def at(
        self, parameters: Sequence[float], run: int, x: FloatArray, factor_error: float
    ) -> CurveAt:
        """
        Evaluate a run's curve and its derivatives.

        Parameters
        ----------
        parameters : sequence of float
            Constants, then the line's, then the element's coefficients. [Pa]
        run : int
            Place of the run. [-]
        x : array, shape (n,)
            Flow over the unit flow. [-]
        factor_error : float
            Relative error of the run's viscosity. [-]

        Returns
        -------
        CurveAt
            Value and derivatives. [Pa]
        """
        fitted = self.candidate[run]
        ratio = {1: self.viscosity_ratio[run] * (1.0 + factor_error), 2: self.density_ratio[run]}
        basis = {1: ratio[1] * x, 2: ratio[2] * (x * x)}
        slopes = {1: ratio[1] * np.ones_like(x), 2: 2.0 * ratio[2] * x}
        constants = self.design.constants
        flags = [1.0] if constants == 1 else [float(not fitted), float(fitted)][:constants]
        columns = [flag * np.ones_like(x) for flag in flags]
        powers = [(power, 1.0) for power in self.design.line]
        powers += [(power, float(fitted)) for power in self.design.added]
        columns += [flag * basis[power] for power, flag in powers]
        value, slope, viscous = np.zeros_like(x), np.zeros_like(x), np.zeros_like(x)
        for number, column in zip(parameters, columns, strict=True):
            value = value + number * column
        for number, (power, flag) in zip(parameters[constants:], powers, strict=True):
            slope = slope + (number * flag) * slopes[power]
            if power == 1:
                viscous = viscous + (number * flag * self.viscosity_ratio[run]) * x
        return CurveAt(value, slope, tuple(columns), viscous)


def flow_text(flow_m3_per_s: float) -> str:
    """
    Write a flow for a message.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow. [m3/s]

    Returns
    -------
    str
        Such as ``120 L/h``.
    """
    return f"{from_si(flow_m3_per_s, 'L/h', 'flow'):.4g} L/h"


def plan_flows(runs: Sequence[ElementRun], constants: Constants) -> FlowPlan:
    """
    Settle what is fitted from the flows that were run.

    Parameters
    ----------
    runs : sequence of ElementRun
        Runs that passed the checks.
    constants : Constants
        Depression without flow.

    Returns
    -------
    FlowPlan
        Designs, range and findings.

    Raises
    ------
    InputError
        A constant for each run or configuration with fewer than three flows; one flow without
        the element and another one with it.
    """
    groups = [[run for run in runs if run.candidate is flag] for flag in (False, True)]
    levels = [_levels(group) for group in groups]
    flows = [np.concatenate([run.flow_m3_per_s for run in group]) for group in groups]
    low = max(float(np.min(flow)) for flow in flows)
    high = min(float(np.max(flow)) for flow in flows)
    if constants is not Constants.SHARED and min(levels) < 3:
        text = f"{levels[0]} flows without and {levels[1]} with the element; a constant for each"
        text += f" {constants} needs 3 of each"
        remedy = "Run at more flows, or use one constant for all runs with the zero's uncertainty."
        raise InputError.at("flows", f"{text}.", remedy)
    findings: list[Finding] = []
    only = _only_flow(flows, levels)
    if only is not None:
        text = (
            f"with flows near {flow_text(only)} alone the viscous and the inertial part cannot be"
        )
        text += " told apart: the added depression is known at that flow only"
        findings.append(
            warning("flows", f"{text}.", "Run at three flows or more to learn the curve.")
        )
        findings += _off_range(flows, levels, only)
        low = high = only
    elif low >= high:
        text = "the runs with and without the element share no range of flow: the added"
        text += " depression rests on the line's curve beyond its runs"
        findings.append(
            warning("flows", f"{text}.", "Run both configurations over the same flows.")
        )
        low, high = high, low
    if constants is Constants.RUN:
        text = "with a constant for each run the added depression rests on the shape of the"
        findings.append(note("constant", f"{text} curves alone."))
    designs = _designs(levels, only is not None, constants)
    if len(designs) > 1:
        text = "the line's own curve cannot be learned from these flows: taken as straight and as"
        text += " a square in turn, and what they differ by counts as uncertainty"
        findings.append(warning("flows", f"{text}.", "Run at three flows or more."))
    return FlowPlan(
        designs=designs,
        only_flow_m3_per_s=only,
        lowest_m3_per_s=low,
        highest_m3_per_s=high,
        findings=tuple(findings),
    )


def _designs(levels: Sequence[int], one_flow: bool, constants: Constants) -> tuple[Design, ...]:
    """Choose columns that the flows can bear."""
    added = (1,) if one_flow else (1, 2)
    if max(levels) >= 3:
        number = {Constants.SHARED: 1, Constants.CONFIGURATION: 2, Constants.RUN: 0}[constants]
        return (Design(constants=number, line=(1, 2), added=added),)
    constant = 0 if max(levels) == 1 else 1
    return tuple(Design(constants=constant, line=(power,), added=added) for power in (1, 2))


def _only_flow(flows: Sequence[FloatArray], levels: Sequence[int]) -> float | None:
    """Give the one flow that both configurations were run at, or None for a range."""
    if min(levels) > 1:
        return None
    at = [flow for flow, level in zip(flows, levels, strict=True) if level == 1]
    values = [value for flow in at for value in flow.tolist()]
    return math.fsum(values) / len(values)


def _off_range(flows: Sequence[FloatArray], levels: Sequence[int], only: float) -> list[Finding]:
    """Refuse two single flows that differ, and warn of one outside the other's range."""
    means = [math.fsum(flow.tolist()) / len(flow) for flow in flows]
    if max(levels) == 1:
        if abs(means[1] - means[0]) > 2.0 * SAME_FLOW_SHARE * only:
            text = f"one flow without the element, {flow_text(means[0])}, and another one with it,"
            text += f" {flow_text(means[1])}"
            raise InputError.at("flows", f"{text}.", "Run both configurations at like flows.")
        return []
    other = flows[0] if levels[1] == 1 else flows[1]
    low, high = float(np.min(other)), float(np.max(other))
    if low * (1.0 - SAME_FLOW_SHARE) <= only <= high * (1.0 + SAME_FLOW_SHARE):
        return []
    text = f"the one flow of {flow_text(only)} is outside the other configuration's"
    text += f" {flow_text(low)} to {flow_text(high)}: its curve is used beyond its runs"
    return [warning("flows", f"{text}.", "Run both configurations over the same flows.")]


def _levels(runs: Sequence[ElementRun]) -> int:
    """Count the flows that can be told apart: 1, 2, or 3 for three and more."""
    flow = sorted(value for run in runs for value in run.flow_m3_per_s.tolist())
    squares = [
        u * u + (run.flow_scale_u * q) ** 2
        for run in runs
        for q, u in zip(run.flow_m3_per_s.tolist(), run.flow_u.tolist(), strict=True)
    ]
    mean, noise = math.fsum(flow) / len(flow), math.fsum(squares) / len(flow)
    spread = math.fsum((q - mean) ** 2 for q in flow) / len(flow) - noise
    if spread <= (0.5 * SAME_FLOW_SHARE * mean) ** 2:
        return 1
    width = max(SAME_FLOW_SHARE * mean, 4.0 * math.sqrt(noise))
    count, start = 0, -math.inf
    for q in flow:
        if q > start + width:
            count, start = count + 1, q
    return min(count, 3)

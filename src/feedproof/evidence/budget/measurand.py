"""
A measured quantity with its model, and the linear budget that follows from both.

The model is one plain function of the inputs.  Its derivatives are the sensitivity coefficients
(JCGM 100:2008, 5.1), and the same function is evaluated by the Monte Carlo beside.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from feedproof.evidence.budget.doubt import Distribution, Evaluation, Source
from feedproof.evidence.budget.simulated import Agreement, MonteCarlo
from feedproof.evidence.students import effective_degrees_of_freedom, student_quantile

Model = Callable[..., Any]
"""Floats or arrays in, by keyword; the same kind out."""
CONFIDENCE = 0.95
"""Two-sided, of every expanded uncertainty. [-]"""
_STEP = 0.1
_LEAST_STEP = 1e-4
"""Step of the derivative, in standard uncertainties and as a share of the value: large beside
rounding, and a difference of the fourth order does not feel the bend of any model here. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurand:
    """
    A quantity, the function that gives it, and what is known of its inputs.

    Parameters
    ----------
    quantity, unit : str
        What it is, and its unit.
    model : callable
        Function of floats or arrays by keyword.
    sources : tuple of Source
        Uncertain inputs, independent of each other: what is shared is one input.
    fixed : tuple of (str, float)
        Inputs taken as exact.
    """

    quantity: str
    unit: str
    model: Model
    sources: tuple[Source, ...]
    fixed: tuple[tuple[str, float], ...] = ()

    def __post_init__(self) -> None:
        """Refuse an input that stands twice."""
        names = [source.symbol for source in self.sources] + [name for name, _ in self.fixed]
        if len(set(names)) != len(names):
            raise ValueError(f"{self.quantity}: an input stands twice among {sorted(names)}")

    def at(self, **changed: Any) -> Any:
        """
        Evaluate the model at the best estimates, with some inputs changed.

        Parameters
        ----------
        **changed : float or array
            Inputs by symbol.

        Returns
        -------
        float or array
            In the measurand's unit.
        """
        inputs = dict(self.fixed) | {source.symbol: source.value for source in self.sources}
        return self.model(**(inputs | changed))

    @property
    def value(self) -> float:
        """Give the best estimate."""
        return float(self.at())


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetLine:
    """
    One line of a budget.

    Parameters
    ----------
    symbol, name : str, str
        Input of the model, and what it is.
    value, unit : float, str
        Best estimate of the input and its unit.
    size : float
        Half-width, or standard uncertainty of a normal law or t. Unit of the input.
    distribution : Distribution
        Shape.
    divisor : float
        From size to standard uncertainty. [-]
    count : int
        Independent ones of which the input is the mean. [-]
    sensitivity : float
        Derivative of the measurand by the input.
    sensitivity_unit : str
        Its unit.
    contribution : float
        Size over divisor (and root of count) times the sensitivity, not negative. Unit of the
        measurand.
    degrees_of_freedom : float
        How well it is known; infinite where it is taken as sure. [-]
    share_fraction : float
        Of the variance. [-]
    evaluation : Evaluation
        A or B.
    in_repeats : bool
        Repeated runs show it in their scatter.
    basis : str
        Where the size comes from.
    assumed : bool
        Nobody declared it.
    """

    symbol: str
    name: str
    value: float
    unit: str
    size: float
    distribution: Distribution
    divisor: float
    count: int
    sensitivity: float
    sensitivity_unit: str
    contribution: float
    degrees_of_freedom: float
    share_fraction: float
    evaluation: Evaluation
    in_repeats: bool
    basis: str
    assumed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """
    An uncertainty budget.

    Parameters
    ----------
    quantity, unit : str
        What it is of, and its unit.
    value : float
        Best estimate.
    lines : tuple of BudgetLine
        Independent contributions.
    standard_uncertainty : float
        Root of the sum of squares.
    degrees_of_freedom : float
        Effective ones (Welch-Satterthwaite). [-]
    confidence, coverage_factor, expanded_uncertainty : float
        Two-sided; k from Student's t; k u. [-], [-], unit of the measurand
    second_order_uncertainty : float
        Standard uncertainty with the next terms of the Taylor series.
    assumptions : tuple of str
        What nobody declared, with its source.
    monte_carlo : MonteCarlo or None
        The same by simulation.
    agreement : Agreement or None
        Whether the linear interval is that of the simulation.
    """

    quantity: str
    unit: str
    value: float
    lines: tuple[BudgetLine, ...]
    standard_uncertainty: float
    degrees_of_freedom: float
    confidence: float
    coverage_factor: float
    expanded_uncertainty: float
    second_order_uncertainty: float
    assumptions: tuple[str, ...]
    monte_carlo: MonteCarlo | None = None
    agreement: Agreement | None = None

    @property
    def type_b_uncertainty(self) -> float:
        """Give the root of the sum of squares of the lines of type B."""
        return _root([line for line in self.lines if line.evaluation is Evaluation.B])

    def beside_scatter(self, scatter_u: float | None) -> float:
        """
        Give what the instruments add to a scatter of repeated runs, nothing counted twice.

        Parameters
        ----------
        scatter_u : float or None
            Standard uncertainty that the scatter gives the same measurand; None when unknown.

        Returns
        -------
        float
            Type B without the lines that repeats show by themselves; with them where the
            scatter is unknown or less than they alone would make, since then it cannot hold
            them (readings that all fall on one step).

        Notes
        -----
        To count them always would be on the safe side, and is what the standard uncertainty of
        the budget does.
        """
        type_b = [line for line in self.lines if line.evaluation is Evaluation.B]
        shown = _root([line for line in type_b if line.in_repeats])
        if scatter_u is None or scatter_u < shown:
            return _root(type_b)
        return _root([line for line in type_b if not line.in_repeats])


def linear_budget(measurand: Measurand, confidence: float = CONFIDENCE) -> Budget:
    """
    Combine the doubts of the inputs by the law of propagation.

    Parameters
    ----------
    measurand : Measurand
        Model and inputs.
    confidence : float
        Two-sided, of the expanded uncertainty. [-]

    Returns
    -------
    Budget
        Line by line; without simulation.

    Raises
    ------
    ValueError
        A model that gives no finite figure at or beside the best estimates.
    """
    value = measurand.value
    slopes = [derivative(measurand, source) for source in measurand.sources]
    if not all(map(math.isfinite, [value, *slopes])):
        raise ValueError(f"{measurand.quantity}: the model gives no finite figure")
    shares = [
        abs(slope) * source.standard_uncertainty
        for slope, source in zip(slopes, measurand.sources, strict=True)
    ]
    variance = math.fsum(u * u for u in shares)
    dof = effective_degrees_of_freedom(
        [
            (u, source.doubt.degrees_of_freedom)
            for u, source in zip(shares, measurand.sources, strict=True)
        ]
    )
    k = student_quantile(0.5 * (1.0 + confidence), dof)
    lines = tuple(
        _line(source, slope, u, u * u / variance if variance > 0.0 else 0.0, measurand.unit)
        for source, slope, u in zip(measurand.sources, slopes, shares, strict=True)
    )
    return Budget(
        quantity=measurand.quantity,
        unit=measurand.unit,
        value=value,
        lines=lines,
        standard_uncertainty=math.sqrt(variance),
        degrees_of_freedom=dof,
        confidence=confidence,
        coverage_factor=k,
        expanded_uncertainty=k * math.sqrt(variance),
        second_order_uncertainty=math.sqrt(max(0.0, variance + _second_order(measurand))),
        assumptions=tuple(
            f"{line.name}: {line.basis}" for line in lines if line.assumed and line.size > 0.0
        ),
    )


def derivative(measurand: Measurand, source: Source) -> float:
    """
    Give the derivative of the model by one input, at the best estimates.

    Parameters
    ----------
    measurand : Measurand
        With its model.
    source : Source
        The input.

    Returns
    -------
    float
        Central difference of the fourth order. Unit of the measurand over that of the input.
    """
    # Rounding of the input itself must not be felt where its doubt is tiny beside it.
    h = max(_STEP * source.standard_uncertainty, _LEAST_STEP * abs(source.value)) or _LEAST_STEP
    one, two = (
        float(measurand.at(**{source.symbol: source.value + n * h}))
        - float(measurand.at(**{source.symbol: source.value - n * h}))
        for n in (1, 2)
    )
    return (8.0 * one - two) / (12.0 * h)


def _line(source: Source, slope: float, u: float, share: float, unit: str) -> BudgetLine:
    """Write one line."""
    doubt = source.doubt
    return BudgetLine(
        symbol=source.symbol,
        name=source.name,
        value=source.value,
        unit=source.unit,
        size=doubt.size,
        distribution=doubt.distribution,
        divisor=doubt.divisor,
        count=source.count,
        sensitivity=slope,
        sensitivity_unit=_per(unit, source.unit),
        contribution=u,
        degrees_of_freedom=doubt.degrees_of_freedom,
        share_fraction=share,
        evaluation=source.evaluation,
        in_repeats=source.in_repeats,
        basis=doubt.basis,
        assumed=doubt.assumed,
    )


def _per(unit: str, of: str) -> str:
    """Write the unit of a derivative."""
    if of == unit:
        return "1"
    if of == "1":
        return unit
    return f"{unit}/({of})" if "/" in of else f"{unit}/{of}"


def _root(lines: list[BudgetLine]) -> float:
    """Give the root of the sum of squares of contributions."""
    return math.sqrt(math.fsum(line.contribution**2 for line in lines))


def _second_order(measurand: Measurand) -> float:
    """
    Give the next terms of the variance (note to 5.1.2 of JCGM 100:2008).

    The sum over i and j of (f_ij^2 / 2 + f_i f_ijj) u_i^2 u_j^2, from differences over a tenth of
    a standard uncertainty; true for symmetric inputs that are normal.
    """
    used = [source for source in measurand.sources if source.standard_uncertainty > 0.0]
    base = {source.symbol: source.value for source in used}

    def moved(*steps: tuple[Source, float]) -> float:
        """Evaluate the model some steps away."""
        inputs: dict[str, float] = {}
        for source, count in steps:
            start = inputs.get(source.symbol, base[source.symbol])
            inputs[source.symbol] = start + count * _STEP * source.standard_uncertainty
        return float(measurand.at(**inputs))

    middle = moved()
    terms = []
    for i in used:
        first = 0.5 * (moved((i, 1.0)) - moved((i, -1.0)))
        for j in used:
            pp, pm, mp, mm = (moved((i, a), (j, b)) for a in (1.0, -1.0) for b in (1.0, -1.0))
            if i is j:
                # Both steps along one input: two away, back at the middle, two the other way.
                mixed = 0.25 * (pp - 2.0 * middle + mm)
                third = 0.5 * (pp - 2.0 * moved((i, 1.0)) + 2.0 * moved((i, -1.0)) - mm)
            else:
                mixed = 0.25 * (pp - pm - mp + mm)
                bend = [pp - 2.0 * moved((i, 1.0)) + pm, mp - 2.0 * moved((i, -1.0)) + mm]
                third = 0.5 * (bend[0] - bend[1])
            terms.append(0.5 * mixed * mixed + first * third)
    # Differences to derivatives: four of the steps stand in every term.
    return math.fsum(terms) / _STEP**4

"""Uncertainty budgets as tables, line by line, in the units that people read."""

import math

from feedproof.evidence.budget.doubt import Distribution
from feedproof.evidence.budget.measurand import Budget, BudgetLine
from feedproof.evidence.budget.simulated import Agreement
from feedproof.report.model import Table

# Shown unit and how many of it are one SI unit.
_SHOWN = {
    "Pa": ("kPa", 1e-3),
    "m": ("mm", 1e3),
    "m3": ("mL", 1e6),
    "kg": ("g", 1e3),
    "m3/s": ("L/h", 3.6e6),
    "W": ("kW", 1e-3),
    "log-percent": ("%", 1.0),
    "1": ("%", 100.0),
    "kg/m3": ("kg/m³", 1.0),
}
_SHAPES = {
    Distribution.NORMAL: "normal",
    Distribution.STUDENT: "t",
    Distribution.RECTANGULAR: "rectangle",
    Distribution.TRIANGULAR: "triangle",
    Distribution.ARCSINE: "arcsine",
}
_AGREEMENT = {
    Agreement.AGREES: "the interval above agrees with it",
    Agreement.DIFFERS: "the interval above differs from it, and this one is the right one",
    Agreement.CANNOT_TELL: "so many trials do not settle whether the interval above agrees",
}


def budget_table(budget: Budget) -> Table:
    """
    Write a budget as a table.

    Parameters
    ----------
    budget : Budget
        With or without its simulation.

    Returns
    -------
    Table
        One row for each source of uncertainty, then the sums.
    """
    unit, factor = _shown(budget.unit)
    rows = [_row(line, budget) for line in budget.lines]
    k = budget.coverage_factor
    value = f"{factor * budget.value:.{_decimals(factor * budget.standard_uncertainty)}f}"
    rows.append(
        _last(
            "standard uncertainty",
            f"{_figure(factor * budget.standard_uncertainty)} {unit}",
            dof=_dof(budget.degrees_of_freedom),
        )
    )
    rows.append(
        _last(
            f"expanded, {100 * budget.confidence:.0f} %, k = {k:.2f}",
            f"{_figure(factor * budget.expanded_uncertainty)} {unit}",
        )
    )
    return Table(
        caption=f"Uncertainty budget: {budget.quantity}, {value} {unit}",
        head=(
            "source of uncertainty",
            "known",
            "distribution",
            "divisor",
            "sensitivity",
            f"contribution, {unit}",
            "degrees of freedom",
            "share of variance",
            "type, taken from",
        ),
        rows=tuple(rows),
        note=_note(budget),
    )


def _row(line: BudgetLine, budget: Budget) -> tuple[str, ...]:
    """Write one line."""
    unit, factor = _shown(line.unit)
    out, out_factor = _shown(budget.unit)
    value = f"{_figure(factor * line.value)} " if line.value else ""
    mean = f" (mean of {line.count})" if line.count > 1 else ""
    slope = line.sensitivity * out_factor / factor
    return (
        line.name,
        f"{value}±\u00a0{_figure(factor * line.size)} {unit}{mean}",
        _SHAPES[line.distribution],
        f"{line.divisor:.3f}",
        f"{_figure(slope)} {_per(out, unit)}".rstrip(),
        _figure(out_factor * line.contribution),
        _dof(line.degrees_of_freedom),
        f"{100.0 * line.share_fraction:.1f} %",
        f"{line.evaluation.value}: {line.basis}" if line.basis else line.evaluation.value,
    )


def _last(name: str, value: str, dof: str = "") -> tuple[str, ...]:
    """Write one of the rows that sum up."""
    return (name, "", "", "", "", value, dof, "", "")


def _note(budget: Budget) -> str:
    """Say what the simulation gave and what was assumed."""
    unit, factor = _shown(budget.unit)
    parts = []
    found = budget.monte_carlo
    if found is not None and budget.agreement is not None:
        decimals = _decimals(factor * found.standard_uncertainty)
        mean, low, high, shortest_low, shortest_high = (
            f"{factor * each:.{decimals}f}"
            for each in (
                found.mean,
                found.symmetric_low,
                found.symmetric_high,
                found.shortest_low,
                found.shortest_high,
            )
        )
        parts.append(
            f"Monte Carlo of {found.trials} trials: mean {mean}, standard uncertainty"
            f" {_figure(factor * found.standard_uncertainty)}, 95 % from {low} to {high}, shortest"
            f" from {shortest_low} to {shortest_high} {unit}; {_AGREEMENT[budget.agreement]}."
        )
        if found.finding:
            parts.append(f"The simulation was {found.finding}.")
    else:
        parts.append("Not simulated: for some of the errors that are allowed there is no result.")
    assumed = dict.fromkeys(line.name for line in budget.lines if line.assumed and line.size)
    if assumed:
        parts.append(f"Assumed, since the case does not declare it: {', '.join(assumed)}.")
    return " ".join(parts)


def _shown(unit: str) -> tuple[str, float]:
    """Give the shown unit and its factor; SI where none is known."""
    return _SHOWN.get(unit, (unit, 1.0))


def _per(out: str, unit: str) -> str:
    """Write the unit of a sensitivity; nothing where it is a ratio."""
    if out == unit:
        return ""
    return f"{out}/({unit})" if "/" in unit else f"{out}/{unit}"


def _dof(value: float) -> str:
    """Write degrees of freedom."""
    return "∞" if math.isinf(value) else f"{value:.3g}"


def _figure(value: float) -> str:
    """Write a figure with three digits that mean something."""
    if value == 0.0:
        return "0"
    # Rounding of a difference that cancels is no figure.
    return "0" if abs(value) < 1e-9 else f"{value:.{_decimals(value)}f}"


def _decimals(value: float) -> int:
    """Give the decimals that show three digits of a figure."""
    # The exponent of the rounded figure: 0.9999999 is shown as 1.00, like 1.
    return min(8, max(0, 2 - int(f"{abs(value):.2e}".partition("e")[2])))

"""The scatter of repeated runs beside the instruments, with nothing counted twice."""

import math
from dataclasses import dataclass, replace
from typing import Any

from feedproof.evidence.budget.doubt import Distribution, Doubt, Evaluation, Source
from feedproof.evidence.budget.measurand import Measurand, Model, linear_budget

_SYMBOL = "scatter"


@dataclass(frozen=True, slots=True)
class WithScatter:
    """
    A model to whose result the scatter of runs is added.

    Parameters
    ----------
    model : callable
        The model without it.
    """

    model: Model

    def __call__(self, *, scatter: Any, **inputs: Any) -> Any:
        """Give the model's result plus the scatter."""
        return self.model(**inputs) + scatter


def with_scatter(
    measurand: Measurand,
    *,
    standard_deviation: float,
    degrees_of_freedom: float,
    variance_factor: float,
    basis: str,
) -> Measurand:
    """
    Add the scatter of repeated runs (type A) to a measurand.

    Parameters
    ----------
    measurand : Measurand
        With its instruments.
    standard_deviation : float
        Of one run. Unit of the measurand.
    degrees_of_freedom : float
        How well it is known. [-]
    variance_factor : float
        Variance of the result over that of one run: 1/n for a mean, 1/m + 1/n for a difference
        of means. [-]
    basis : str
        Where the scatter comes from.

    Returns
    -------
    Measurand
        Inputs that repeats show by themselves are left out where the scatter is large enough to
        hold them; where it is not (readings that all fall on one step) they stay.
    """
    u = standard_deviation * math.sqrt(variance_factor)
    # The same rule as `Budget.beside_scatter`, which the answers use.
    repeated = [line.contribution for line in linear_budget(measurand).lines if line.in_repeats]
    shown = math.hypot(*repeated)
    holds = u >= shown
    left_out = [source for source in measurand.sources if source.in_repeats and holds]
    words = ", ".join(dict.fromkeys(source.name.split(",")[0] for source in left_out))
    finite = math.isfinite(degrees_of_freedom)
    scatter = Source(
        symbol=_SYMBOL,
        name="scatter of repeated runs",
        value=0.0,
        unit=measurand.unit,
        doubt=Doubt(
            size=u,
            distribution=Distribution.STUDENT if finite else Distribution.NORMAL,
            degrees_of_freedom=degrees_of_freedom,
            basis=f"{basis}; holds {words}" if words else basis,
        ),
        evaluation=Evaluation.A,
    )
    kept = tuple(source for source in measurand.sources if source not in left_out)
    values = tuple((source.symbol, source.value) for source in left_out)
    return replace(
        measurand,
        model=WithScatter(measurand.model),
        sources=(scatter, *kept),
        fixed=(*measurand.fixed, *values),
    )

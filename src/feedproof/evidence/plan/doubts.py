"""
What planning needs to know of an instrument: the one place that reads uncertainty budgets.

Two kinds of doubt must be kept apart.  What repeated runs show by themselves (reading, watch) is
already inside the run-to-run scatter, and more runs lower it; what all runs share (slope of a
gauge, its place) is beside the scatter, and more runs do not.
"""

import math
import re
from dataclasses import dataclass, replace

from feedproof.evidence.budget.measurand import Measurand, linear_budget

_SIDE = re.compile(r", with(out)? the kit$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """
    One source of doubt.

    Parameters
    ----------
    name : str
        What it is.
    u : float
        Standard uncertainty on the scale of the measure: of one run where repeats show it, else
        of the difference.
    in_repeats : bool
        Repeated runs show it in their scatter.
    basis : str
        Where the figure comes from.
    assumed : bool
        Nobody declared it.
    """

    name: str
    u: float
    in_repeats: bool
    basis: str = ""
    assumed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubts:
    """
    What is known of the instruments of one measure, or of a what-if.

    Parameters
    ----------
    title : str
        Which instruments.
    steps : tuple of Step
        Independent.
    """

    title: str
    steps: tuple[Step, ...]

    @property
    def of_a_run(self) -> float:
        """Give the standard uncertainty of one run that repeats show."""
        return _root([step.u for step in self.steps if step.in_repeats])

    @property
    def shared(self) -> float:
        """Give the standard uncertainty of the difference that more runs do not lower."""
        return _root([step.u for step in self.steps if not step.in_repeats])

    def with_step(self, step: Step) -> "Doubts":
        """Give the same with one more step."""
        return replace(self, steps=(*self.steps, step))

    def without(self, name: str) -> "Doubts":
        """Give the same without a step."""
        return replace(self, steps=tuple(step for step in self.steps if step.name != name))


def doubts_of(title: str, difference: Measurand) -> Doubts:
    """
    Read the budget of a difference between one run without and one run with the kit.

    Parameters
    ----------
    title : str
        Which instruments.
    difference : Measurand
        Of one run each.

    Returns
    -------
    Doubts
        Steps, those of the two sides taken together.
    """
    found: dict[str, Step] = {}
    for line in linear_budget(difference).lines:
        if not line.contribution > 0.0:
            continue
        name = _SIDE.sub("", line.name)
        before = found.get(name)
        together = math.hypot(line.contribution, before.u) if before else line.contribution
        found[name] = Step(
            name=name,
            u=together,
            in_repeats=line.in_repeats,
            basis=line.basis,
            assumed=line.assumed,
        )
    # A difference of one run each holds what repeats show twice; a run holds it once.
    steps = [
        replace(step, u=step.u / math.sqrt(2.0)) if step.in_repeats else step
        for step in found.values()
    ]
    return Doubts(title=title, steps=tuple(steps))


def _root(figures: list[float]) -> float:
    """Give the root of the sum of squares."""
    return math.sqrt(math.fsum(figure * figure for figure in figures))

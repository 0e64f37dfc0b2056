"""
Catches of the return and rollers, at hand or thought of, as doubts of a difference.

Figures of instruments that a case does not describe are common practice and marked as assumed;
they give way to what the case declares.
"""

import math
from dataclasses import dataclass, replace

from feedproof.evidence.budget import common_practice as usual
from feedproof.evidence.budget.catch import (
    Catch,
    VolumeDoubts,
    WeighingDoubts,
    return_loss_by_volume,
    return_loss_by_weighing,
)
from feedproof.evidence.budget.doubt import Doubt, limit, mark, standard, step
from feedproof.evidence.budget.power import power_difference
from feedproof.evidence.plan.doubts import Doubts, Step, doubts_of

HOLD_ERROR_REV_PER_S = 40.0 / 60.0
"""Limit of holding an engine speed by the dashboard: 40 rpm (common practice). [rev/s]"""
LOGGED_ERROR_REV_PER_S = 10.0 / 60.0
"""The same by a logged engine speed: 10 rpm (common practice). [rev/s]"""
TIMER_S = 0.05
"""Standard uncertainty of a valve that is turned by a timer (common practice). [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class CatchSet:
    """
    A way to catch the return.

    Parameters
    ----------
    flow_m3_per_s : float
        Return flow. [m3/s]
    duration_s : float
        How long. [s]
    expansion_per_k, density_15c_kg_per_m3 : float
        Of the fuel. [1/K], [kg/m3]
    doubts : VolumeDoubts or WeighingDoubts
        Of jug or balance, and of who reads it.
    hold_rev_per_s : float
        Engine speed of a steady catch, or that of a pull's middle. [rev/s]
    hold_error_rev_per_s : float
        Limit of holding that speed; of a pull, of its ends. [rev/s]
    """

    flow_m3_per_s: float
    duration_s: float
    expansion_per_k: float
    density_15c_kg_per_m3: float
    doubts: VolumeDoubts | WeighingDoubts
    hold_rev_per_s: float = 50.0
    hold_error_rev_per_s: float = HOLD_ERROR_REV_PER_S

    @property
    def volume_m3(self) -> float:
        """Give what is caught, in m3."""
        return self.flow_m3_per_s * self.duration_s


def catch_doubts(title: str, caught: CatchSet) -> Doubts:
    """
    Give the doubts of a loss of return.

    Parameters
    ----------
    title : str
        How it is caught.
    caught : CatchSet
        The same in figures.

    Returns
    -------
    Doubts
        In log-percent.
    """
    if isinstance(caught.doubts, WeighingDoubts):
        density = caught.density_15c_kg_per_m3
        mass = Catch(amount=caught.volume_m3 * density, duration_s=caught.duration_s)
        loss = return_loss_by_weighing(mass, mass, caught.doubts, density_15c_kg_per_m3=density)
    else:
        read = Catch(amount=caught.volume_m3, duration_s=caught.duration_s)
        loss = return_loss_by_volume(
            read, read, caught.doubts, expansion_per_k=caught.expansion_per_k
        )
    return _watched(doubts_of(title, loss), caught)


def usual_jug(
    expansion_per_k: float, *, marks_m3: float = 10e-6, reaction_s: float | None = None
) -> VolumeDoubts:
    """
    Give the doubts of a jug that no case describes.

    Parameters
    ----------
    expansion_per_k : float
        Of the fuel. [1/K]
    marks_m3 : float
        Distance of its marks. [m3]
    reaction_s : float, optional
        Standard uncertainty of starting, and of stopping, the watch; by hand when left out. [s]

    Returns
    -------
    VolumeDoubts
        Assumed.
    """
    return VolumeDoubts(
        measure=usual.jug_error(),
        reading=mark(marks_m3, f"marks of {marks_m3 * 1e6:.0f} mL read by eye", assumed=True),
        left_over=usual.volume_left_over(),
        reaction=_reaction(reaction_s),
        temperature=usual.thermometer(),
        expansion=usual.fuel_expansion(expansion_per_k),
    )


def usual_balance(
    density_15c_kg_per_m3: float, *, reaction_s: float | None = None
) -> WeighingDoubts:
    """
    Give the doubts of a balance that no case describes.

    Parameters
    ----------
    density_15c_kg_per_m3 : float
        Of the fuel. [kg/m3]
    reaction_s : float, optional
        Standard uncertainty of starting, and of stopping, the watch; by hand when left out. [s]

    Returns
    -------
    WeighingDoubts
        Assumed.
    """
    return WeighingDoubts(
        balance=limit(2e-3, "2 g, assumed", assumed=True),
        reading=step(1e-3, "steps of 1 g, assumed", assumed=True),
        left_over=usual.mass_left_over(),
        buoyancy=usual.buoyancy(density_15c_kg_per_m3),
        reaction=_reaction(reaction_s),
        density=usual.fuel_density(density_15c_kg_per_m3),
    )


def _reaction(reaction_s: float | None) -> Doubt:
    """Give the doubt of a watch, by hand when nothing is said."""
    if reaction_s is None:
        return usual.reaction()
    return standard(reaction_s, f"{reaction_s:g} s each for start and stop, assumed", assumed=True)


def _watched(doubts: Doubts, caught: CatchSet) -> Doubts:
    """Take start and stop of the watch together, and add holding the speed."""
    watch = [step for step in doubts.steps if step.name.endswith("of the watch")]
    rest = tuple(step for step in doubts.steps if step not in watch)
    joined = tuple(
        Step(
            name="watch started and stopped",
            u=math.hypot(*(step.u for step in watch)),
            in_repeats=True,
            basis=each.basis,
            assumed=each.assumed,
        )
        for each in watch[:1]
    )
    rpm = 60.0 * caught.hold_error_rev_per_s
    held = Step(
        name="engine speed held",
        u=100.0 * caught.hold_error_rev_per_s / caught.hold_rev_per_s / math.sqrt(3.0),
        in_repeats=True,
        basis=f"within {rpm:.0f} rpm; the return goes with the speed (common practice)",
        assumed=True,
    )
    return Doubts(title=doubts.title, steps=(*joined, *rest, held))


def other_catches(now: CatchSet, pull_flow_m3_per_s: float, pull_s: float) -> tuple[Doubts, ...]:
    """
    Give what-ifs for the catch.

    Parameters
    ----------
    now : CatchSet
        For the fuel and the steady flow.
    pull_flow_m3_per_s : float
        Mean return over a pull. [m3/s]
    pull_s : float
        How long a pull lasts. [s]

    Returns
    -------
    tuple of Doubts
        In log-percent.
    """
    jug = usual_jug(now.expansion_per_k)
    coarse = usual_jug(now.expansion_per_k, marks_m3=50e-6)
    timed = usual_jug(now.expansion_per_k, reaction_s=TIMER_S)
    balance = usual_balance(now.density_15c_kg_per_m3)
    best = usual_balance(now.density_15c_kg_per_m3, reaction_s=TIMER_S)
    minute = replace(now, duration_s=60.0, doubts=jug, hold_error_rev_per_s=HOLD_ERROR_REV_PER_S)
    over_pull = replace(minute, flow_m3_per_s=pull_flow_m3_per_s, duration_s=pull_s)
    logged = LOGGED_ERROR_REV_PER_S
    two = replace(minute, duration_s=120.0)
    made = {
        f"one catch over a pull of {pull_s:.0f} s, watch by hand, marks of 10 mL": over_pull,
        "steady hold of 60 s, watch by hand, marks of 10 mL": minute,
        "the same, marks of 50 mL": replace(minute, doubts=coarse),
        "the same, valve turned by a timer (0.05 s)": replace(minute, doubts=timed),
        "the same, speed held by the logged figure (10 rpm)": replace(
            minute, hold_error_rev_per_s=logged
        ),
        "the same, weighed to 1 g": replace(minute, doubts=balance),
        "steady hold of 120 s, watch by hand, marks of 10 mL": two,
        "steady hold of 120 s, weighed, valve by a timer, speed by the logged figure": replace(
            two, doubts=best, hold_error_rev_per_s=logged
        ),
    }
    return tuple(catch_doubts(title, caught) for title, caught in made.items())


def power_doubts(title: str, loss_percent: float, *, torque: Doubt, drift: Doubt) -> Doubts:
    """
    Give the doubts of a loss of wheel power on one roller.

    Parameters
    ----------
    title : str
        Which roller.
    loss_percent : float
        Loss of interest. [log-percent]
    torque, drift : Doubt
        Of its torque, and of its drift within a session, as ratios. [-]

    Returns
    -------
    Doubts
        In log-percent.
    """
    return doubts_of(title, power_difference(loss_percent=loss_percent, torque=torque, drift=drift))


def other_rollers(now: Doubts, loss_percent: float) -> tuple[Doubts, ...]:
    """
    Give what-ifs for the power.

    Parameters
    ----------
    now : Doubts
        Of the roller at hand.
    loss_percent : float
        Loss of interest. [log-percent]

    Returns
    -------
    tuple of Doubts
        In log-percent.
    """
    # Turbocharged, exponents 0.66 and 1.5 at 303 K: one kelvin is 0.33 % (ISO 1585, memory).
    per_kelvin = 100.0 * 0.66 * 1.5 / 303.0

    def air(name: str, kelvin: float) -> Step:
        u = per_kelvin * kelvin / math.sqrt(3.0)
        return Step(name=name, u=u, in_repeats=False, basis="0.33 % a kelvin", assumed=True)

    calmer = power_doubts(
        "roller warmed through, load cell checked before and after (0.02 %)",
        loss_percent,
        torque=usual.torque_error(),
        drift=limit(0.0002, "0.02 % within a session, assumed", assumed=True),
    )
    return (
        calmer,
        Doubts(
            title="corrected power, intake thermometer in the same place within 1 K",
            steps=(*now.steps, air("intake thermometer", 1.0)),
        ),
        Doubts(
            title="corrected power, intake thermometer moved: 3 K between the two",
            steps=(*now.steps, air("intake thermometer", 3.0)),
        ),
    )

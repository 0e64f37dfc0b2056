"""The fitted element in words: plain for a customer, precise for an engineer, from one result."""

import math

from feedproof.core.units import from_si
from feedproof.evidence.fit.element_equivalent import RestrictionEquivalent
from feedproof.evidence.fit.element_limits import Estimate
from feedproof.evidence.fit.element_plan import flow_text
from feedproof.evidence.fit.element_result import AddedDepression, Bound, ElementFit
from feedproof.evidence.fit.element_run import FuelState

NOT_TESTED = "Not tested: a loaded element, cold fuel, other vehicles, durability."


def customer_words(fit: ElementFit, added: AddedDepression) -> tuple[str, ...]:
    """
    Say in plain words what the added element does.

    Parameters
    ----------
    fit : ElementFit
        The fit.
    added : AddedDepression
        What it adds at the flow of interest.

    Returns
    -------
    tuple of str
        Sentences.
    """
    figure = added.added_pa
    at = f"At {flow_text(added.flow_m3_per_s)}{_fuel_text(added.fuel)}"
    if fit.bound is Bound.GAIN:
        first = f"{at} the runs seem to show less suction with the added filter than without."
        first += " No filter does that: something else changed between the runs, so this is not"
        return (f"{first} a result.", NOT_TESTED)
    if figure.low > 0.0:
        first = f"{at} the added filter makes the pump draw about {_pressure(figure.value)} harder."
        first += f" The runs allow {_pressure(figure.low)} to {_pressure(figure.high)}"
        first += " (19 times in 20)."
    elif figure.upper <= 0.0:
        first = f"{at} the runs allow no added suction at all, which no filter gives: suspect them."
    else:
        first = f"{at} the test cannot tell how much harder the added filter makes the pump draw:"
        first += f" anything up to {_pressure(figure.upper)} fits the runs. This is not a pass."
    sentences = [first]
    if fit.only_flow_m3_per_s is not None:
        sentences.append("It is known at this one flow only, since no other was run.")
    elif added.findings:
        sentences.append("No run went to this flow with and without it: the figure is carried on.")
    return (*sentences, "Colder fuel is thicker and makes it more.", NOT_TESTED)


def engineer_words(fit: ElementFit, added: AddedDepression) -> tuple[str, ...]:
    """
    Say precisely what was fitted.

    Parameters
    ----------
    fit : ElementFit
        The fit.
    added : AddedDepression
        What it adds at the flow of interest.

    Returns
    -------
    tuple of str
        Sentences.
    """
    figure = added.added_pa
    at = f"at {flow_text(added.flow_m3_per_s)}{_fuel_text(added.fuel)}"
    sentences = [
        f"Added depression {at}: {figure.value:.4g} Pa, standard uncertainty"
        f" {figure.standard_uncertainty:.3g} Pa ({_dof(figure)}); two-sided 95 %"
        f" {figure.low:.4g} to {figure.high:.4g} Pa; one-sided 95 % limits {figure.lower:.4g} and"
        f" {figure.upper:.4g} Pa.",
        "By source: " + ", ".join(f"{name} {u:.3g} Pa" for name, u in added.budget) + ".",
    ]
    viscous, inertial = fit.viscous_pa_s_per_m3, fit.inertial_pa_s2_per_m6
    if viscous is not None and inertial is not None:
        r = fit.correlation
        told = "not defined" if r is None else f"{r:.3f}"
        sentences.append(
            f"a = {viscous.value:.4g} Pa s/m3 (u {viscous.standard_uncertainty:.3g}),"
            f" b = {inertial.value:.4g} Pa s2/m6 (u {inertial.standard_uncertainty:.3g}),"
            f" correlation {told}{_fuel_text(fit.fuel, ' stated for')}: use them together only."
        )
    else:
        sentences.append("One flow: a and b cannot be told apart.")
    sentences.append(
        f"{fit.runs_without} runs without and {fit.runs_with} with the element, {fit.points}"
        f" points, {flow_text(fit.lowest_m3_per_s)} to {flow_text(fit.highest_m3_per_s)}; sum of"
        f" squares {fit.chi_square:.4g} at {fit.degrees_of_freedom} degrees of freedom;"
        f" uncertainties times {fit.expansion:.3g}."
    )
    sentences.append("Errors in flow and depression both; drift between the runs is no part of it.")
    sentences += [str(finding) for finding in (*fit.findings, *added.findings)]
    return tuple(sentences)


def equivalent_words(equivalent: RestrictionEquivalent, at: AddedDepression) -> tuple[str, ...]:
    """
    Say how far the added element is like a part-loaded factory element.

    Parameters
    ----------
    equivalent : RestrictionEquivalent
        The percentage.
    at : AddedDepression
        Flow and fuel that both losses are taken at.

    Returns
    -------
    tuple of str
        Sentences.
    """
    where = f"at {flow_text(at.flow_m3_per_s)}{_fuel_text(at.fuel)}"
    like = "like the factory element at"
    rise = "of its restriction rise from clean to change-out"
    low, high = equivalent.low_percent, equivalent.high_percent
    if low is not None and high is not None and high <= 0.0:
        first = f"The runs allow no added restriction {where}: there is no such percentage."
    elif low is None:
        first = f"The test cannot tell what share {rise} the added element is like {where}: the"
        first += " rise, or what is added, is not known well enough."
    elif high is None:
        first = f"The added element is {like} {low:.0f} % or more {rise} {where}; how much more"
        first += " the test cannot tell, since the rise is not known well enough."
    else:
        first = f"The added element is {like} {equivalent.percent:.0f} % {rise} {where}"
        first += f" (95 %: {max(0.0, low):.0f} to {high:.0f} %)."
        if low <= 0.0:
            first += " Whether it adds anything is not shown."
        elif low > 100.0:
            first += " That is more than the factory element gains up to its change-out."
    second = "This is percent of restriction, not of dirt held and not of life: elements load"
    return first, f"{second} slowly at first and fast towards their end."


def _fuel_text(fuel: FuelState, before: str = " and") -> str:
    """Write a state of the fuel after a flow; nothing when it is not known."""
    if fuel.temperature_k is None:
        return ""
    return f"{before} {from_si(fuel.temperature_k, 'degC', 'temperature'):.0f} °C fuel"


def _pressure(value_pa: float) -> str:
    """Write a pressure difference for the workshop."""
    kpa, inhg = (from_si(value_pa, unit, "pressure") for unit in ("kPa", "inHg"))
    return f"{kpa:.2f} kPa ({inhg:.2f} inHg)"


def _dof(figure: Estimate) -> str:
    """Write degrees of freedom."""
    if math.isinf(figure.degrees_of_freedom):
        return "declared"
    return f"{figure.degrees_of_freedom:.1f} degrees of freedom"

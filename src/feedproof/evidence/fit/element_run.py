"""
What the fit of an added element is given: runs with their errors, and the state of the fuel.

The viscous part of a loss follows the fuel's dynamic viscosity, the inertial part its density.
Both come in as values, from the fuel's own functions at each run's temperature; this file only
forms their ratios to a stated state, and refuses runs too far apart when they are not known.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error, note, warning

FloatArray = NDArray[np.float64]

LARGEST_UNCORRECTED_K = 5.0
"""Runs further apart than this are refused without viscosities: the project's own rule."""
VISCOSITY_FALL_PER_K = 0.03
"""
Relative fall of a diesel fuel's viscosity per kelvin, for the doubt of runs that are not
corrected.  Common practice: summer diesel of 4.8 mm2/s at 20 degC and 2.95 at 40 degC falls by
2.4 % per kelvin between them, and by about 4 % at 0 degC.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class FuelState:
    """
    The fuel that a resistance is stated for.

    Parameters
    ----------
    temperature_k : float or None
        Fuel temperature; None when no run logged one. [K]
    kinematic_viscosity_m2_per_s, density_kg_per_m3 : float or None
        At that temperature; None when not known. [m2/s], [kg/m3]
    """

    temperature_k: float | None = None
    kinematic_viscosity_m2_per_s: float | None = None
    density_kg_per_m3: float | None = None

    @property
    def dynamic_viscosity_pa_s(self) -> float | None:
        """Give kinematic viscosity times density."""
        if self.kinematic_viscosity_m2_per_s is None or self.density_kg_per_m3 is None:
            return None
        return self.kinematic_viscosity_m2_per_s * self.density_kg_per_m3


@dataclass(frozen=True, slots=True, kw_only=True)
class ElementRun:
    """
    One run, reduced to points: bin means or steady holds, not single samples.

    Parameters
    ----------
    name : str
        Name of the run, for messages.
    candidate : bool
        True with the added element fitted.
    flow_m3_per_s, depression_pa : array, shape (n,)
        Flow through the place of the element, and depression at the pump inlet. [m3/s], [Pa]
    flow_u_m3_per_s, depression_u_pa : array, shape (n,), or float
        Standard uncertainty of each point by itself. [m3/s], [Pa]
    flow_scale_u : float
        Relative standard uncertainty of the flow that all points of this run share: one caught
        volume gives one scale. [-]
    depression_offset_u_pa : float
        Standard uncertainty of the depression that all points of this run share: zero read anew,
        head set anew. [Pa]
    fuel_temperature_k : float or None
        At the place of the element; None when not logged. [K]
    kinematic_viscosity_m2_per_s, density_kg_per_m3 : float or None
        Of the fuel at that temperature. [m2/s], [kg/m3]
    viscosity_relative_u : float
        Relative standard uncertainty of this run's viscosity against the other runs', from its
        own temperature reading. [-]
    """

    name: str
    candidate: bool
    flow_m3_per_s: FloatArray
    depression_pa: FloatArray
    flow_u_m3_per_s: FloatArray | float
    depression_u_pa: FloatArray | float
    flow_scale_u: float = 0.0
    depression_offset_u_pa: float = 0.0
    fuel_temperature_k: float | None = None
    kinematic_viscosity_m2_per_s: float | None = None
    density_kg_per_m3: float | None = None
    viscosity_relative_u: float = 0.0

    @property
    def flow_u(self) -> FloatArray:
        """Give the uncertainty of each point's flow, point by point."""
        return np.broadcast_to(np.asarray(self.flow_u_m3_per_s, float), self.flow_m3_per_s.shape)

    @property
    def depression_u(self) -> FloatArray:
        """Give the uncertainty of each point's depression, point by point."""
        return np.broadcast_to(np.asarray(self.depression_u_pa, float), self.depression_pa.shape)

    @property
    def fuel(self) -> FuelState:
        """Give the fuel as it was in this run."""
        return FuelState(
            temperature_k=self.fuel_temperature_k,
            kinematic_viscosity_m2_per_s=self.kinematic_viscosity_m2_per_s,
            density_kg_per_m3=self.density_kg_per_m3,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedFuel:
    """
    The state that a fit is made for, and how each run stands to it.

    Parameters
    ----------
    state : FuelState
        The state.
    viscosity_ratio, density_ratio : tuple of float
        Of each run over the state. [-]
    viscosity_u : tuple of float
        Relative standard uncertainty of each run's viscosity ratio. [-]
    findings : tuple of Finding
        What was assumed.
    """

    state: FuelState
    viscosity_ratio: tuple[float, ...]
    density_ratio: tuple[float, ...]
    viscosity_u: tuple[float, ...]
    findings: tuple[Finding, ...]


def check_runs(runs: Sequence[ElementRun]) -> None:
    """
    Refuse runs that cannot be fitted, all mistakes at once.

    Parameters
    ----------
    runs : sequence of ElementRun
        The runs.

    Raises
    ------
    InputError
        No run of one configuration, lists of different length, values that are not finite or
        not positive, uncertainties that are negative or missing.
    """
    faults = [fault for run in runs for fault in _run_faults(run)]
    for candidate, words in ((False, "without"), (True, "with")):
        if not any(run.candidate is candidate for run in runs):
            text = f"there is no run {words} the added element"
            faults.append(error("runs", f"{text}.", "Give at least one run of each configuration."))
    names = [run.name for run in runs]
    for name in sorted({name for name in names if names.count(name) > 1}):
        faults.append(error(f"run {name}", "two runs have this name.", "Give each its own."))
    if faults:
        raise InputError(faults)


def _run_faults(run: ElementRun) -> list[Finding]:
    """List what is wrong with one run."""
    place = f"run {run.name}"
    flow, depression = run.flow_m3_per_s, run.depression_pa
    if flow.ndim != 1 or flow.shape != depression.shape or not flow.size:
        text = f"flow has shape {flow.shape}, depression {depression.shape}: one list of equal"
        return [error(place, f"{text} length each, at least one point.", "Give pairs.")]
    faults = []
    for name, value in (("flow", run.flow_u_m3_per_s), ("depression", run.depression_u_pa)):
        if np.shape(value) not in ((), flow.shape):
            text = f"uncertainty of {name} has shape {np.shape(value)}, allowed {flow.shape} or one"
            faults.append(error(place, f"{text}.", "Give one for each point, or one for all."))
    if faults:
        return faults
    if not np.all(np.isfinite(flow) & (flow > 0.0)):
        text = f"flow from {np.min(flow):.6g} to {np.max(flow):.6g} m3/s: each must be above 0"
        faults.append(error(place, f"{text}.", "Leave points without a flow out."))
    if not np.all(np.isfinite(depression)):
        text = "a depression is not a finite number"
        faults.append(error(place, f"{text}.", "Leave points that are not usable out."))
    if not np.all(np.isfinite(run.flow_u) & (run.flow_u >= 0.0)):
        text = "an uncertainty of flow is negative or not finite"
        faults.append(error(place, f"{text}.", "Give it from the budget of the flow."))
    if not np.all(np.isfinite(run.depression_u) & (run.depression_u > 0.0)):
        text = "an uncertainty of depression is not above 0: no gauge is without error"
        faults.append(error(place, f"{text}.", "Give it from the budget of the gauge."))
    for name, value, most in (
        ("flow_scale_u", run.flow_scale_u, 0.5),
        ("depression_offset_u_pa", run.depression_offset_u_pa, math.inf),
        ("viscosity_relative_u", run.viscosity_relative_u, 0.5),
    ):
        if not (0.0 <= value <= most and math.isfinite(value)):
            text = f"{name} is {value:g}, allowed 0 to {most:g}"
            faults.append(error(place, f"{text}.", "Give a standard uncertainty."))
    for name, given in (
        ("fuel_temperature_k", run.fuel_temperature_k),
        ("kinematic_viscosity_m2_per_s", run.kinematic_viscosity_m2_per_s),
        ("density_kg_per_m3", run.density_kg_per_m3),
    ):
        if given is not None and not (math.isfinite(given) and given > 0.0):
            faults.append(error(place, f"{name} is {given:g}, allowed above 0.", "Give it in SI."))
    return faults


def state_fuel(runs: Sequence[ElementRun], state: FuelState | None) -> StatedFuel:
    """
    Settle the state that a fit is made for, and each run's ratios to it.

    Parameters
    ----------
    runs : sequence of ElementRun
        Runs that `check_runs` passed.
    state : FuelState or None
        The state wanted; None for the middle of the runs.

    Returns
    -------
    StatedFuel
        State, ratios, doubts and findings.

    Raises
    ------
    InputError
        Some runs with a viscosity and some without; or none has one and the temperatures are
        more than `LARGEST_UNCORRECTED_K` apart, from each other or from the state.
    """
    known = [run.fuel.dynamic_viscosity_pa_s is not None for run in runs]
    if any(known) and not all(known):
        raise InputError(
            [
                error(
                    f"run {run.name}",
                    "viscosity or density of the fuel is missing, other runs have both.",
                    "Give both for every run, from the fuel's functions at its temperature.",
                )
                for run, has in zip(runs, known, strict=True)
                if not has
            ]
        )
    return _corrected(runs, state) if all(known) else _uncorrected(runs, state)


def _corrected(runs: Sequence[ElementRun], state: FuelState | None) -> StatedFuel:
    """Form the ratios where every run's viscosity and density are known."""
    viscosities = [_known(run.fuel.dynamic_viscosity_pa_s) for run in runs]
    densities = [_known(run.density_kg_per_m3) for run in runs]
    temperatures = [run.fuel_temperature_k for run in runs if run.fuel_temperature_k is not None]
    findings: tuple[Finding, ...] = ()
    if state is None:
        kinematic = [_known(run.kinematic_viscosity_m2_per_s) for run in runs]
        state = FuelState(
            temperature_k=_mean(temperatures) if temperatures else None,
            kinematic_viscosity_m2_per_s=math.exp(_mean([math.log(v) for v in kinematic])),
            density_kg_per_m3=_mean(densities),
        )
        text = "no fuel temperature was asked for: stated for the middle of the runs"
        findings = (note("fuel", f"{text}."),)
    viscosity = state.dynamic_viscosity_pa_s
    if viscosity is None or state.density_kg_per_m3 is None:
        text = "the fuel state asked for has no viscosity or no density"
        raise InputError.at("fuel state", f"{text}.", "Give both at the temperature asked for.")
    return StatedFuel(
        state=state,
        viscosity_ratio=tuple(v / viscosity for v in viscosities),
        density_ratio=tuple(d / state.density_kg_per_m3 for d in densities),
        viscosity_u=tuple(run.viscosity_relative_u for run in runs),
        findings=findings,
    )


def _uncorrected(runs: Sequence[ElementRun], state: FuelState | None) -> StatedFuel:
    """Take the runs as they are where no viscosity is known, with the doubt that this leaves."""
    temperatures = [run.fuel_temperature_k for run in runs if run.fuel_temperature_k is not None]
    wanted = state.temperature_k if state is not None else None
    compared = [*temperatures, *([wanted] if wanted is not None else [])]
    apart = max(compared) - min(compared) if compared else 0.0
    if apart > LARGEST_UNCORRECTED_K:
        text = f"fuel temperatures are {apart:.1f} K apart and no viscosity is given; allowed"
        text += f" {LARGEST_UNCORRECTED_K:g} K"
        remedy = "Give viscosity and density of the fuel at each run's temperature, or run anew."
        raise InputError.at("fuel temperature", f"{text}.", remedy)
    middle = wanted if wanted is not None else (_mean(temperatures) if temperatures else None)
    findings, doubts = [], []
    for run in runs:
        away = LARGEST_UNCORRECTED_K
        if run.fuel_temperature_k is None or middle is None:
            text = f"fuel temperature was not logged: taken as within {away:g} K of the others"
            findings.append(warning(f"run {run.name}", f"{text}.", "Log it for every run."))
        else:
            away = abs(run.fuel_temperature_k - middle)
        # A bound of known size: rectangular, JCGM 100, 4.3.7.
        doubt = VISCOSITY_FALL_PER_K * away / math.sqrt(3.0)
        doubts.append(math.hypot(run.viscosity_relative_u, doubt))
    if apart > 0.0:
        text = f"fuel temperatures are {apart:.1f} K apart and were not corrected for; the doubt"
        text += f" counts {100.0 * VISCOSITY_FALL_PER_K:g} % of viscosity per kelvin"
        findings.append(note("fuel", f"{text}.", "Give the fuel's viscosity to correct for it."))
    density = state.density_kg_per_m3 if state is not None else None
    kinematic = state.kinematic_viscosity_m2_per_s if state is not None else None
    return StatedFuel(
        state=FuelState(
            temperature_k=middle,
            kinematic_viscosity_m2_per_s=kinematic,
            density_kg_per_m3=density,
        ),
        viscosity_ratio=(1.0,) * len(runs),
        density_ratio=(1.0,) * len(runs),
        viscosity_u=tuple(doubts),
        findings=tuple(findings),
    )


def _known(value: float | None) -> float:
    """Give a value that was checked to be there."""
    assert value is not None
    return value


def _mean(values: Sequence[float]) -> float:
    """Give the mean with an exactly rounded sum."""
    return math.fsum(values) / len(values)

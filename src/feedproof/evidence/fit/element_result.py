"""The resistance of an added element as fitted, and the depression that it adds at a flow."""

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, warning
from feedproof.evidence.fit.element_limits import Estimate, components, make_estimate
from feedproof.evidence.fit.element_plan import SAME_FLOW_SHARE, flow_text
from feedproof.evidence.fit.element_run import FuelState


class Bound(StrEnum):
    """Which part of the resistance came out negative and was set to zero."""

    NONE = "none"
    NO_INERTIAL = "no_inertial"
    NO_VISCOUS = "no_viscous"
    GAIN = "gain"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """
    What one source of error puts into the two coefficients.

    Parameters
    ----------
    name : str
        Source in words.
    viscous_variance, cross_covariance, inertial_variance : float
        Of a, of a with b, of b; at the stated fuel. [(Pa s/m3)2], [Pa2 s3/m9], [(Pa s2/m6)2]
    degrees_of_freedom : float
        How well it is known; infinite when declared. [-]
    """

    name: str
    viscous_variance: float
    cross_covariance: float
    inertial_variance: float
    degrees_of_freedom: float

    def variance_at(self, viscous: float, inertial: float) -> float:
        """
        Give the variance of a weighted sum of the two coefficients.

        Parameters
        ----------
        viscous, inertial : float
            Weights, such as a flow and its square.

        Returns
        -------
        float
            Variance; never below 0.
        """
        total = math.fsum(
            (
                viscous * viscous * self.viscous_variance,
                2.0 * viscous * inertial * self.cross_covariance,
                inertial * inertial * self.inertial_variance,
            )
        )
        return max(0.0, total)  # rounding alone can put a perfect correlation below 0


@dataclass(frozen=True, slots=True, kw_only=True)
class AddedDepression:
    """
    The depression that the element adds at one flow and one state of the fuel.

    Parameters
    ----------
    flow_m3_per_s : float
        Flow. [m3/s]
    fuel : FuelState
        State of the fuel.
    added_pa : Estimate
        Added depression. [Pa]
    budget : tuple of (str, float)
        Standard uncertainty by source. [Pa]
    findings : tuple of Finding
        Such as a flow outside the runs.
    """

    flow_m3_per_s: float
    fuel: FuelState
    added_pa: Estimate
    budget: tuple[tuple[str, float], ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ElementFit:
    """
    What the runs teach about an added element.

    Parameters
    ----------
    coefficients : tuple of float
        a and b of a Q + b Q^2 at the stated fuel; of no meaning by themselves where
        `only_flow_m3_per_s` is given. [Pa s/m3], [Pa s2/m6]
    free_coefficients : tuple of float
        The same before one was set to zero.
    causes : tuple of Cause
        Their covariance, source by source.
    fuel : FuelState
        State that they are stated for.
    line_constant_pa, line_viscous_pa_s_per_m3, line_inertial_pa_s2_per_m6 : float or None
        The line's own curve; None where it is not one figure or cannot be learned. [Pa],
        [Pa s/m3], [Pa s2/m6]
    only_flow_m3_per_s : float or None
        The one flow at which the added depression is known. [m3/s]
    lowest_m3_per_s, highest_m3_per_s : float
        Flows seen with and without the element alike. [m3/s]
    bound : Bound
        Which part was set to zero.
    chi_square, degrees_of_freedom : float
        Squared residuals over the declared variances, and their number. [-]
    expansion : float
        Factor on the uncertainties because the runs scatter more than was declared; 1 for none.
        [-]
    runs_without, runs_with, points : int
        Numbers of runs and of points.
    findings : tuple of Finding
        What was assumed, and what cannot be learned.
    """

    coefficients: tuple[float, float]
    free_coefficients: tuple[float, float]
    causes: tuple[Cause, ...]
    fuel: FuelState
    line_constant_pa: float | None
    line_viscous_pa_s_per_m3: float | None
    line_inertial_pa_s2_per_m6: float | None
    only_flow_m3_per_s: float | None
    lowest_m3_per_s: float
    highest_m3_per_s: float
    bound: Bound
    chi_square: float
    degrees_of_freedom: int
    expansion: float
    runs_without: int
    runs_with: int
    points: int
    findings: tuple[Finding, ...]

    @property
    def separable(self) -> bool:
        """Say whether the viscous and the inertial part can be told apart."""
        return self.only_flow_m3_per_s is None

    @property
    def viscous_pa_s_per_m3(self) -> Estimate | None:
        """Give a at the stated fuel; None where it cannot be told from b."""
        return self._estimate(1.0, 0.0) if self.separable else None

    @property
    def inertial_pa_s2_per_m6(self) -> Estimate | None:
        """Give b at the stated fuel; None where it cannot be told from a."""
        return self._estimate(0.0, 1.0) if self.separable else None

    @property
    def viscous_per_m3(self) -> float | None:
        """Give a over dynamic viscosity, a property of the element alone; None if not known."""
        viscosity = self.fuel.dynamic_viscosity_pa_s
        return self.coefficients[0] / viscosity if viscosity and self.separable else None

    @property
    def inertial_per_m4(self) -> float | None:
        """Give b over density, a property of the element alone; None if not known."""
        density = self.fuel.density_kg_per_m3
        return self.coefficients[1] / density if density and self.separable else None

    @property
    def covariance(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Give the covariance of a and b, all sources together."""
        aa = math.fsum(cause.viscous_variance for cause in self.causes)
        ab = math.fsum(cause.cross_covariance for cause in self.causes)
        bb = math.fsum(cause.inertial_variance for cause in self.causes)
        return (aa, ab), (ab, bb)

    @property
    def correlation(self) -> float | None:
        """Give the correlation of a and b; None where they cannot be told apart."""
        (aa, ab), (_, bb) = self.covariance
        return ab / math.sqrt(aa * bb) if self.separable and aa * bb > 0.0 else None

    def added_depression(
        self,
        flow_m3_per_s: float | None = None,
        fuel: FuelState | None = None,
        *,
        viscosity_relative_u: float = 0.0,
    ) -> AddedDepression:
        """
        Give the depression that the element adds at a flow and a state of the fuel.

        Parameters
        ----------
        flow_m3_per_s : float or None
            Flow; may be left out where the runs had one flow only. [m3/s]
        fuel : FuelState or None
            State of the fuel; None for the one that the fit is stated for.
        viscosity_relative_u : float
            Relative standard uncertainty of that fuel's viscosity over the stated fuel's. [-]

        Returns
        -------
        AddedDepression
            Figure, limits and where its uncertainty comes from.

        Raises
        ------
        InputError
            No flow, another flow than the only one known, a fuel that cannot be carried to.

        Notes
        -----
        a Q follows the dynamic viscosity, b Q^2 the density.
        """
        flow, findings = self._flow(flow_m3_per_s)
        thicker, denser = self._ratios(fuel)
        weights = (thicker * flow, denser * flow * flow)
        if self.only_flow_m3_per_s is not None:
            flow_share = flow / self.only_flow_m3_per_s
            # Fitted with the viscous column alone: at the fitted flow both stand for the same.
            straight = self.coefficients[0] * thicker * flow
            square = self.coefficients[0] * denser * flow * flow_share
            between = abs(straight - square) / math.sqrt(12.0)
            value = 0.5 * (straight + square)
        else:
            between = 0.0
            value = math.fsum(w * c for w, c in zip(weights, self.coefficients, strict=True))
        viscous = abs(self.coefficients[0]) * weights[0] * viscosity_relative_u
        parts = [(c.name, math.sqrt(c.variance_at(*weights)), c.degrees_of_freedom)
                 for c in self.causes]  # fmt: skip
        parts += [("viscosity at the stated fuel", viscous, math.inf)]
        parts += [("share of the viscous part", between, math.inf)]
        free = math.fsum(w * c for w, c in zip(weights, self.free_coefficients, strict=True))
        added = make_estimate(value, components(parts, self.expansion))
        return AddedDepression(
            flow_m3_per_s=flow,
            fuel=fuel if fuel is not None else self.fuel,
            added_pa=self._with_free(added, free),
            budget=tuple((name, u) for name, u, _ in parts if u > 0.0),
            findings=findings,
        )

    def _estimate(self, viscous: float, inertial: float) -> Estimate:
        """Give a weighted sum of the coefficients with its limits."""
        parts = [
            (c.name, math.sqrt(c.variance_at(viscous, inertial)), c.degrees_of_freedom)
            for c in self.causes
        ]
        value = viscous * self.coefficients[0] + inertial * self.coefficients[1]
        free = viscous * self.free_coefficients[0] + inertial * self.free_coefficients[1]
        return self._with_free(make_estimate(value, components(parts, self.expansion)), free)

    def _with_free(self, estimate: Estimate, free: float) -> Estimate:
        """
        Let limits hold the free fit too where a part was set to zero.

        The data chose which part that is, and such a choice is worth less than its own limits:
        without this a one-sided limit at the end of the range holds in 93 % instead of 95 %.
        """
        if self.bound in (Bound.NONE, Bound.GAIN):
            return estimate
        down, up = min(0.0, free - estimate.value), max(0.0, free - estimate.value)
        return replace(
            estimate,
            lower=estimate.lower + down,
            low=estimate.low + down,
            upper=estimate.upper + up,
            high=estimate.high + up,
        )

    def _flow(self, flow: float | None) -> tuple[float, tuple[Finding, ...]]:
        """Check a flow against the runs."""
        only = self.only_flow_m3_per_s
        if flow is None:
            if only is None:
                raise InputError.at("flow", "no flow given.", "State the flow to quote it at.")
            return only, ()
        if not (math.isfinite(flow) and flow > 0.0):
            raise InputError.at("flow", f"{flow:g} m3/s, allowed above 0.", "Give a flow.")
        if only is not None and abs(flow / only - 1.0) > SAME_FLOW_SHARE:
            text = f"{flow_text(flow)} asked for, known at {flow_text(only)} only"
            raise InputError.at("flow", f"{text}.", "Run at three flows or more.")
        if only is None and not self.lowest_m3_per_s <= flow <= self.highest_m3_per_s:
            text = f"{flow_text(flow)} is outside the runs with and without the element,"
            text += f" {flow_text(self.lowest_m3_per_s)} to {flow_text(self.highest_m3_per_s)}:"
            text += " the curve is used beyond what was measured"
            return flow, (warning("flow", f"{text}.", "Run up to this flow."),)
        return flow, ()

    def _ratios(self, fuel: FuelState | None) -> tuple[float, float]:
        """Give viscosity and density of a fuel over those of the stated one."""
        if fuel is None or fuel == self.fuel:
            return 1.0, 1.0
        pairs = (
            (fuel.dynamic_viscosity_pa_s, self.fuel.dynamic_viscosity_pa_s),
            (fuel.density_kg_per_m3, self.fuel.density_kg_per_m3),
        )
        ratios = [new / old for new, old in pairs if new is not None and old is not None]
        if len(ratios) < 2:
            text = "viscosity or density is not known, of the fuel asked for or of the fit's"
            raise InputError.at("fuel state", f"{text}.", "Give both, for the runs and here.")
        if self.only_flow_m3_per_s is not None and abs(ratios[0] - 1.0) > 1e-9:
            text = "with one flow the viscous part is not known, so that no other fuel can be told"
            raise InputError.at("fuel state", f"{text}.", "Run at three flows or more.")
        return ratios[0], ratios[1]

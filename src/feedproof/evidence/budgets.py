"""
Uncertainty budgets of the instruments, as tables that a reader can check line by line.

Each line is a standard uncertainty already on the scale of the result.  A limit of error a
(accuracy class, zero change) is taken as a rectangle, a / sqrt 3; a resolution r as a rectangle
of width r, r / sqrt 12 (JCGM 100:2008, 4.3.7 and F.2.2.1).  What repeats are already showing in
their scatter is not counted here again.
"""

import math
from dataclasses import dataclass

from feedproof.evidence.students import effective_degrees_of_freedom, student_quantile

STANDARD_GRAVITY_M_PER_S2 = 9.80665
"""Of ISO 80000-3. [m/s2]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetLine:
    """
    One line of a budget.

    Parameters
    ----------
    name : str
        Where the uncertainty comes from.
    standard_uncertainty : float
        On the scale of the result.
    degrees_of_freedom : float
        How well it is known. [-]
    basis : str
        How the figure was made.
    """

    name: str
    standard_uncertainty: float
    degrees_of_freedom: float = math.inf
    basis: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Budget:
    """
    An uncertainty budget.

    Parameters
    ----------
    quantity, unit : str
        What it is of, and the unit of every line.
    lines : tuple of BudgetLine
        Independent contributions.
    """

    quantity: str
    unit: str
    lines: tuple[BudgetLine, ...]

    @property
    def standard_uncertainty(self) -> float:
        """Give the root of the sum of squares."""
        return math.sqrt(math.fsum(line.standard_uncertainty**2 for line in self.lines))

    @property
    def degrees_of_freedom(self) -> float:
        """Give the Welch-Satterthwaite degrees of freedom."""
        return effective_degrees_of_freedom(
            [(line.standard_uncertainty, line.degrees_of_freedom) for line in self.lines]
        )

    def expanded(self, confidence: float = 0.95) -> float:
        """
        Give the two-sided expanded uncertainty.

        Parameters
        ----------
        confidence : float
            Two-sided. [-]

        Returns
        -------
        float
            k u with k from Student's t.
        """
        k = student_quantile(0.5 * (1.0 + confidence), self.degrees_of_freedom)
        return k * self.standard_uncertainty


def _limit(name: str, limit: float, basis: str) -> BudgetLine:
    """Make a line from a limit of error."""
    return BudgetLine(name=name, standard_uncertainty=limit / math.sqrt(3.0), basis=basis)


def depression_budget(
    *,
    class_percent: float,
    span_pa: float,
    resolution_pa: float,
    head_u_m: float,
    density_kg_per_m3: float,
    zero_change_pa: float,
) -> Budget:
    """
    Budget of one absolute depression.

    Parameters
    ----------
    class_percent : float
        Accuracy class, percent of span at any reading (EN 837-1). [%]
    span_pa : float
        Span of the gauge. [Pa]
    resolution_pa : float
        Smallest step read. [Pa]
    head_u_m : float
        Standard uncertainty of the gauge's height above the pump inlet. [m]
    density_kg_per_m3 : float
        Fuel in the line to the gauge. [kg/m3]
    zero_change_pa : float
        Largest change of zero over the run. [Pa]

    Returns
    -------
    Budget
        In Pa.

    Examples
    --------
    >>> gauge = depression_budget(
    ...     class_percent=1.6, span_pa=60e3, resolution_pa=500.0, head_u_m=0.01,
    ...     density_kg_per_m3=835.0, zero_change_pa=200.0)
    >>> round(gauge.standard_uncertainty)
    590
    """
    head = density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2 * head_u_m
    return Budget(
        quantity="depression",
        unit="Pa",
        lines=(
            _limit("gauge class", class_percent / 100.0 * span_pa, "class of span, rectangle"),
            _resolution(resolution_pa, 1.0, "resolution, rectangle"),
            BudgetLine(name="head", standard_uncertainty=head, basis="height of the gauge"),
            _limit("zero", zero_change_pa, "change of zero, rectangle"),
        ),
    )


def depression_difference_budget(
    *,
    class_percent: float,
    span_pa: float,
    difference_pa: float,
    resolution_pa: float,
    runs_each: int,
    head_u_m: float,
    density_kg_per_m3: float,
    zero_change_pa: float,
    same_gauge: bool = True,
) -> Budget:
    """
    Budget of a difference of depressions, candidate less baseline.

    Parameters
    ----------
    class_percent : float
        Accuracy class, percent of span. [%]
    span_pa : float
        Span of the gauge. [Pa]
    difference_pa : float
        The difference. [Pa]
    resolution_pa : float
        Smallest step read. [Pa]
    runs_each : int
        Runs of each. [-]
    head_u_m : float
        Standard uncertainty of setting the gauge's height again. [m]
    density_kg_per_m3 : float
        Fuel in the line to the gauge. [kg/m3]
    zero_change_pa : float
        Largest change of zero over a run. [Pa]
    same_gauge : bool
        One gauge at one place for both: fixed errors cancel and the slope's remains.

    Returns
    -------
    Budget
        In Pa.

    Notes
    -----
    That the slope's share of a class on span is class times difference is an assumption, not
    something the class promises.

    Examples
    --------
    >>> round(depression_difference_budget(
    ...     class_percent=1.6, span_pa=60e3, difference_pa=3000.0, resolution_pa=500.0,
    ...     runs_each=3, head_u_m=0.003, density_kg_per_m3=835.0, zero_change_pa=100.0,
    ... ).standard_uncertainty)
    150
    """
    root2 = math.sqrt(2.0)
    share = class_percent / 100.0
    gauge = (
        _limit("gauge slope", share * abs(difference_pa), "class of the difference, rectangle")
        if same_gauge
        else _limit("two gauges", root2 * share * span_pa, "class of span, twice, rectangle")
    )
    head = root2 * density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2 * head_u_m
    return Budget(
        quantity="difference of depressions",
        unit="Pa",
        lines=(
            gauge,
            _resolution(resolution_pa, math.sqrt(2.0 / runs_each), "resolution, mean of runs"),
            BudgetLine(name="head", standard_uncertainty=head, basis="height set again, twice"),
            _limit("zero", root2 * zero_change_pa, "change of zero, twice, rectangle"),
        ),
    )


def return_budget(
    *,
    volume_m3: float,
    duration_s: float,
    volume_error_m3: float,
    resolution_m3: float,
    reaction_u_s: float,
    temperature_error_k: float,
    expansion_per_k: float = 8.3e-4,
) -> Budget:
    """
    Budget of a return flow caught in a measure, relative.

    Parameters
    ----------
    volume_m3 : float
        Caught volume. [m3]
    duration_s : float
        How long. [s]
    volume_error_m3 : float
        Limit of error of the measure. [m3]
    resolution_m3 : float
        Graduation of the measure. [m3]
    reaction_u_s : float
        Standard uncertainty of starting, and of stopping. [s]
    temperature_error_k : float
        Limit of error of the fuel's temperature. [K]
    expansion_per_k : float
        Volume expansion of the fuel. [1/K]

    Returns
    -------
    Budget
        In percent of the flow.

    Examples
    --------
    >>> round(return_budget(
    ...     volume_m3=2.4e-3, duration_s=120.0, volume_error_m3=20e-6, resolution_m3=10e-6,
    ...     reaction_u_s=0.2, temperature_error_k=2.0).standard_uncertainty, 2)
    0.57
    """
    # A graduation is read by eye to its nearest mark: a triangle of half-width r.
    reading = 100.0 * resolution_m3 / math.sqrt(6.0) / volume_m3
    timing = 100.0 * math.sqrt(2.0) * reaction_u_s / duration_s
    return Budget(
        quantity="caught return flow",
        unit="percent",
        lines=(
            _limit("measure", 100.0 * volume_error_m3 / volume_m3, "limit of error, rectangle"),
            BudgetLine(name="reading", standard_uncertainty=reading, basis="triangle"),
            BudgetLine(name="timing", standard_uncertainty=timing, basis="start and stop"),
            _limit("temperature", 100.0 * expansion_per_k * temperature_error_k, "rectangle"),
        ),
    )


def wheel_power_budget(
    *,
    torque_u_percent: float,
    speed_u_percent: float,
    engine_factor: float,
    air_temperature_k: float,
    air_temperature_error_k: float,
    air_pressure_abs_pa: float,
    air_pressure_error_pa: float,
) -> Budget:
    """
    Budget of one corrected wheel power, relative.

    Parameters
    ----------
    torque_u_percent : float
        Standard uncertainty of torque. [%]
    speed_u_percent : float
        Standard uncertainty of speed. [%]
    engine_factor : float
        Exponent of the atmospheric factor. [-]
    air_temperature_k : float
        Intake air. [K]
    air_temperature_error_k : float
        Its limit of error. [K]
    air_pressure_abs_pa : float
        Dry air pressure. [Pa]
    air_pressure_error_pa : float
        Its limit of error. [Pa]

    Returns
    -------
    Budget
        In percent of the power.

    Notes
    -----
    Exponents 1.5 and 0.7 of a turbocharged engine: UN R85 (memory); ISO 1585 has 1.2.  A
    difference of powers on one dynamometer and with one factor keeps only drift and slope.

    Examples
    --------
    >>> round(wheel_power_budget(
    ...     torque_u_percent=0.5, speed_u_percent=0.1, engine_factor=0.66,
    ...     air_temperature_k=303.0, air_temperature_error_k=1.0, air_pressure_abs_pa=97e3,
    ...     air_pressure_error_pa=100.0).standard_uncertainty, 3)
    0.544
    """
    warmth = 100.0 * 1.5 * engine_factor * air_temperature_error_k / air_temperature_k
    weight = 100.0 * 0.7 * engine_factor * air_pressure_error_pa / air_pressure_abs_pa
    return Budget(
        quantity="corrected wheel power",
        unit="percent",
        lines=(
            BudgetLine(name="torque", standard_uncertainty=torque_u_percent),
            BudgetLine(name="speed", standard_uncertainty=speed_u_percent),
            _limit("air temperature", warmth, "limit of error, rectangle"),
            _limit("air pressure", weight, "limit of error, rectangle"),
        ),
    )


def _resolution(resolution: float, factor: float, basis: str) -> BudgetLine:
    """Make a line from a resolution."""
    u = factor * resolution / math.sqrt(12.0)
    return BudgetLine(name="resolution", standard_uncertainty=u, basis=basis)

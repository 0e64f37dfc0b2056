"""A vehicle's feed circuit under given conditions, ready to be asked for operating points."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Line
from feedproof.case.vehicle import Vehicle
from feedproof.core.errors import InputError
from feedproof.feedline.plan import (
    FluidPlan,
    LinePlan,
    PartRow,
    PumpPlan,
    lower_fluid,
    lower_pump,
    lower_rows,
    merge_rows,
    static_depression_pa,
)
from feedproof.feedline.solve import FeedState, operating_point, operating_points
from feedproof.physics.friction import FrictionRule

FloatArray = NDArray[np.float64]

# Fuel burnt at a held speed without load over full-load fuel at that speed: an assumption
# (common practice, no source).  It enters the return of a steady hold only, and there it is
# about 3 L/h of 80.
NO_LOAD_FUEL_FRACTION = 0.12

RULES = {rule.name.lower(): int(rule) for rule in FrictionRule}
"""Friction rules by the names that a case uses."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedCircuit:
    """
    Line, pump and fuel under one set of conditions.

    Parameters
    ----------
    vehicle : Vehicle
        For engine and pump.
    line : Line
        The line with its kits, tank to pump inlet.
    conditions : Conditions
        The state of the world.
    rows : tuple of PartRow
        One for each part.
    plan : LinePlan
        Their sum.
    fluid : FluidPlan
        The fuel at its temperature.
    pump : PumpPlan
        The pump.
    static_pa : float
        Depression without flow. [Pa]
    rule : int
        Friction rule.
    """

    vehicle: Vehicle
    line: Line
    conditions: Conditions
    rows: tuple[PartRow, ...]
    plan: LinePlan
    fluid: FluidPlan
    pump: PumpPlan
    static_pa: float
    rule: int

    @property
    def saturation_abs_pa(self) -> float:
        """Give the pressure of the gas in the tank, at which its fuel is saturated. [Pa]."""
        return self.conditions.ambient_pressure_abs_pa - self.conditions.tank_depression_pa

    def at(
        self, engine_speed_rev_per_s: float, injected_m3_per_s: float, *, rule: int | None = None
    ) -> FeedState:
        """
        Solve one operating point.

        Parameters
        ----------
        engine_speed_rev_per_s : float
            Engine speed. [rev/s]
        injected_m3_per_s : float
            Fuel that the engine wants. [m3/s]
        rule : int, optional
            Another friction rule than the circuit's own.

        Returns
        -------
        FeedState
            The state.
        """
        return operating_point(
            self.plan,
            self.static_pa,
            self.conditions.ambient_pressure_abs_pa,
            self.saturation_abs_pa,
            self.pump,
            self.fluid,
            engine_speed_rev_per_s * self.vehicle.pump.speed_ratio,
            injected_m3_per_s,
            self.backleak_m3_per_s(engine_speed_rev_per_s),
            self.rule if rule is None else rule,
        )

    def at_many(
        self,
        engine_speed_rev_per_s: FloatArray,
        injected_m3_per_s: FloatArray,
        *,
        rule: int | None = None,
    ) -> FloatArray:
        """
        Solve many operating points.

        Parameters
        ----------
        engine_speed_rev_per_s, injected_m3_per_s : array, shape (n,)
            Speeds and wanted fuel. [rev/s], [m3/s]
        rule : int, optional
            Another friction rule than the circuit's own.

        Returns
        -------
        array, shape (n, 9)
            Rows in the order of `FeedState`.
        """
        speeds = np.ascontiguousarray(engine_speed_rev_per_s, dtype=np.float64)
        backleak = self.vehicle.pump.backleak_rated_m3_per_s * (
            speeds / self.vehicle.engine.rated_speed_rev_per_s
        )
        return operating_points(
            self.plan,
            self.static_pa,
            self.conditions.ambient_pressure_abs_pa,
            self.saturation_abs_pa,
            self.pump,
            self.fluid,
            speeds * self.vehicle.pump.speed_ratio,
            np.ascontiguousarray(injected_m3_per_s, dtype=np.float64),
            backleak,
            self.rule if rule is None else rule,
        )

    def backleak_m3_per_s(self, engine_speed_rev_per_s: float) -> float:
        """
        Injector back-leak, taken as proportional to engine speed.

        Parameters
        ----------
        engine_speed_rev_per_s : float
            Engine speed. [rev/s]

        Returns
        -------
        float
            Flow. [m3/s]
        """
        rated = self.vehicle.engine.rated_speed_rev_per_s
        return self.vehicle.pump.backleak_rated_m3_per_s * engine_speed_rev_per_s / rated

    def full_load(self, engine_speed_rev_per_s: FloatArray) -> tuple[FloatArray, FloatArray]:
        """
        Engine power and injected flow at full load.

        Parameters
        ----------
        engine_speed_rev_per_s : array, shape (n,)
            Engine speeds. [rev/s]

        Returns
        -------
        tuple of array, shape (n,)
            Power [W] and injected flow [m3/s] with a well-fed pump.

        Raises
        ------
        InputError
            A speed outside the engine's full-load curve.
        """
        engine = self.vehicle.engine
        speeds = np.asarray(engine_speed_rev_per_s, dtype=np.float64)
        table = np.asarray(engine.speed_rev_per_s)
        slack = 1e-9 * table[-1]
        if speeds.min() < table[0] - slack or speeds.max() > table[-1] + slack:
            raise InputError.at(
                "vehicle.engine.full_load",
                f"engine speeds from {60 * speeds.min():.0f} to {60 * speeds.max():.0f} rpm are"
                f" needed, the full-load curve covers {60 * table[0]:.0f} to"
                f" {60 * table[-1]:.0f} rpm.",
                "Extend the curve, or shorten the pull.",
            )
        torque = np.interp(speeds, table, engine.torque_nm)
        consumption = np.interp(speeds, table, engine.specific_consumption_kg_per_j)
        power = torque * 2.0 * np.pi * speeds
        return power, power * consumption / self.fluid.density_kg_per_m3

    def held_without_load(self, engine_speed_rev_per_s: float) -> FeedState:
        """
        Solve a steady hold in neutral, where the return is caught.

        Parameters
        ----------
        engine_speed_rev_per_s : float
            The held speed. [rev/s]

        Returns
        -------
        FeedState
            The state; the fuel burnt is an assumption (`NO_LOAD_FUEL_FRACTION`).
        """
        _, full = self.full_load(np.array([engine_speed_rev_per_s]))
        return self.at(engine_speed_rev_per_s, NO_LOAD_FUEL_FRACTION * float(full[0]))


def build_circuit(
    vehicle: Vehicle, line: Line, fuel: Fuel, conditions: Conditions, rule: str
) -> FeedCircuit:
    """
    Lower a vehicle, a line and a fuel to a circuit.

    Parameters
    ----------
    vehicle : Vehicle
        The vehicle.
    line : Line
        Its feed line with the kits to be asked about.
    fuel : Fuel
        The fuel that the conditions name.
    conditions : Conditions
        The state of the world.
    rule : str
        Friction rule, a key of `RULES`.

    Returns
    -------
    FeedCircuit
        Ready to be asked.
    """
    rows = lower_rows(line, conditions.captured_mass_kg)
    fluid = lower_fluid(fuel, conditions.fuel_temperature_k)
    return FeedCircuit(
        vehicle=vehicle,
        line=line,
        conditions=conditions,
        rows=rows,
        plan=merge_rows(rows),
        fluid=fluid,
        pump=lower_pump(vehicle.pump),
        static_pa=static_depression_pa(vehicle.tank, conditions, fluid),
        rule=RULES[rule],
    )

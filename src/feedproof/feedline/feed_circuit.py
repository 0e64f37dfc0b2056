"""A vehicle's feed circuit under given conditions: what every kind of it can be asked."""

from abc import ABC, abstractmethod
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.case.line import Line
from feedproof.case.parts import Part
from feedproof.case.vehicle import Vehicle
from feedproof.core.errors import InputError
from feedproof.feedline.line_loss import part_loss
from feedproof.feedline.plan import FluidPlan, PumpPlan, lower_rows
from feedproof.feedline.pump_state import FeedState
from feedproof.feedline.surroundings import Demand, Surroundings
from feedproof.physics.friction import FrictionRule
from feedproof.physics.pump import inlet_half_pressure

FloatArray = NDArray[np.float64]

# Fuel burnt at a held speed without load over full-load fuel at that speed: an assumption
# (common practice, no source).  It enters the return of a steady hold only, and there it is
# about 3 L/h of 80.
NO_LOAD_FUEL_FRACTION = 0.12

RULES = {rule.name.lower(): int(rule) for rule in FrictionRule}
"""Friction rules by the names that a case uses."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PartStep:
    """
    What one part does at an operating point.

    Parameters
    ----------
    part : Part
        The part.
    loss_pa : float
        Pressure lost in it; below 0 where it adds pressure. [Pa]
    flow_fraction : float
        Flow through it over the feed, below 1 in a branch. [-]
    """

    part: Part
    loss_pa: float
    flow_fraction: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """
    Parts in series between two nodes at an operating point, in the direction of the flow.

    Parameters
    ----------
    first, second : str
        Nodes where the fuel enters and leaves: ``tank``, ``inlet``, ``return`` or a name of the
        case.
    steps : tuple of PartStep
        Its parts; losses and shares of the flow as in `FeedCircuit.steps`.
    on_way : bool
        True for a leg of the way that most of the fuel takes.
    in_return : bool
        True for a leg of the return line.
    """

    first: str
    second: str
    steps: tuple[PartStep, ...]
    on_way: bool = True
    in_return: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedCircuit(ABC):
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
    fluid, return_fluid : FluidPlan
        The fuel at the pump inlet and in the return line.
    pump : PumpPlan
        The pump.
    around : Surroundings
        Air, tank and lift.
    rule : int
        Friction rule.
    """

    vehicle: Vehicle
    line: Line
    conditions: Conditions
    fluid: FluidPlan
    return_fluid: FluidPlan
    pump: PumpPlan
    around: Surroundings
    rule: int

    @property
    def static_pa(self) -> float:
        """Give the depression without flow. [Pa]."""
        return self.around.static_pa

    @property
    def saturation_abs_pa(self) -> float:
        """Give the pressure of the gas in the tank, at which its fuel is saturated. [Pa]."""
        return self.around.saturation_abs_pa

    @abstractmethod
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

        Raises
        ------
        InputError
            A network that has no such state; it names the part.
        """

    @abstractmethod
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

        Raises
        ------
        InputError
            As for `at`.
        """

    @abstractmethod
    def steps(self, state: FeedState, through: Collection[str] = ()) -> tuple[PartStep, ...]:
        """
        Lay a solved point out part by part, along the way that most of the fuel takes.

        Parameters
        ----------
        state : FeedState
            A solved point of this circuit.
        through : collection of str
            Ids of parts that the way passes where it can, as those of a kit in one of two
            branches, before most of the fuel decides.

        Returns
        -------
        tuple of PartStep
            Tank to pump inlet; the losses add up to the depression less the static one.
        """

    @abstractmethod
    def legs(self, state: FeedState, through: Collection[str] = ()) -> tuple[Leg, ...]:
        """
        Lay a solved point out with all that stands beside the way and with the return line.

        Parameters
        ----------
        state : FeedState
            A solved point of this circuit.
        through : collection of str
            As for `steps`.

        Returns
        -------
        tuple of Leg
            The way of `steps` from the tank to the pump inlet, then what stands beside it, then
            the return line; losses of the return line are not of the depression.
        """

    def demand(self, engine_speed_rev_per_s: float, injected_m3_per_s: float) -> Demand:
        """
        Give what an operating point asks of the pump.

        Parameters
        ----------
        engine_speed_rev_per_s : float
            Engine speed. [rev/s]
        injected_m3_per_s : float
            Fuel that the engine wants. [m3/s]

        Returns
        -------
        Demand
            Speed of the pump, fuel wanted and back-leak.
        """
        return Demand(
            engine_speed_rev_per_s * self.vehicle.pump.speed_ratio,
            injected_m3_per_s,
            self.backleak_m3_per_s(engine_speed_rev_per_s),
        )

    def vapour_margin_pa(self, state: FeedState, engine_speed_rev_per_s: float) -> float:
        """
        Give the inlet pressure above the fuel's vapour pressure and the loss of the pump's port.

        Parameters
        ----------
        state : FeedState
            A solved point of this circuit.
        engine_speed_rev_per_s : float
            Its engine speed. [rev/s]

        Returns
        -------
        float
            Net positive suction pressure; below 0 the fuel boils in the port. [Pa]
        """
        boiling = inlet_half_pressure(
            0.0,
            self.fluid.vapour_pressure_abs_pa,
            self.pump.port_loss_pa,
            engine_speed_rev_per_s * self.vehicle.pump.speed_ratio,
            self.pump.port_loss_speed_rev_per_s,
        )
        return state.pressure_abs_pa - boiling

    def back_pressure_pa(self, state: FeedState) -> float:
        """
        Give what a chained return line holds against the pump's return.

        Parameters
        ----------
        state : FeedState
            A solved point of this circuit.

        Returns
        -------
        float
            Above the pressure in the tank, without the return line's own lift; 0 where no
            return line is described. [Pa]
        """
        rows = lower_rows(self.vehicle.return_line, {})
        return sum(
            part_loss(state.return_m3_per_s, row, self.return_fluid, self.rule) for row in rows
        )

    @property
    def backleak_m3_per_rev(self) -> float:
        """Give the injector back-leak over engine speed, taken as proportional to it. [m3/rev]."""
        rated = self.vehicle.engine.rated_speed_rev_per_s
        return self.vehicle.pump.backleak_rated_m3_per_s / rated

    def backleak_m3_per_s(self, engine_speed_rev_per_s: float) -> float:
        """
        Injector back-leak.

        Parameters
        ----------
        engine_speed_rev_per_s : float
            Engine speed. [rev/s]

        Returns
        -------
        float
            Flow. [m3/s]
        """
        return engine_speed_rev_per_s * self.backleak_m3_per_rev

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

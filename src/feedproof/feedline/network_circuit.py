"""A feed line with branches, lift pumps or return led back, as a circuit like any other."""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Line
from feedproof.case.vehicle import Vehicle
from feedproof.core.errors import InputError
from feedproof.feedline.feed_circuit import FeedCircuit, Leg, PartStep
from feedproof.feedline.network import Posed, pose_drawn, pose_fed, solve_speeds
from feedproof.feedline.network_balance import Supply
from feedproof.feedline.network_local import (
    LinkCells,
    has_local,
    link_cells,
    part_losses,
)
from feedproof.feedline.network_nodes import INLET, RETURN, TANK, Link
from feedproof.feedline.network_plan import Network, lower_network
from feedproof.feedline.network_settle import ROUND_TOLERANCE_PA, WHOLE_ROUNDS, Hung, hung_on
from feedproof.feedline.network_state import NetworkState, shut_links
from feedproof.feedline.network_tees import PlacedTee, place_tees, tee_losses
from feedproof.feedline.network_way import way_of_most_fuel
from feedproof.feedline.plan import FluidPlan, PumpPlan, lower_fluid, lower_pump
from feedproof.feedline.profile import network_temperatures
from feedproof.feedline.pump_state import FeedState
from feedproof.feedline.surroundings import Demand, Surroundings

FloatArray = NDArray[np.float64]

MOST_ROUNDS = 300
# A hose that nearly closes, or a valve that just opens on the side leg of a tee, can make the
# rounds run to and fro: (from this round on, share of a step that is taken).
SHARES_OF_A_STEP = (
    (200, 0.005),
    (150, 0.02),
    (120, 0.1),
    (90, 0.25),
    (WHOLE_ROUNDS, 0.5),
    (0, 1.0),
)
# Where they do not end, the round that came nearest is taken if it left no more open than this:
# far below any figure that is told.
NEAR_PA = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class NetworkCircuit(FeedCircuit):
    """
    A circuit whose feed line is a network.

    Parameters
    ----------
    network : Network
        Feed line and return line.
    link_fluids : tuple of FluidPlan
        The fuel in each link.
    cells : tuple of LinkCells
        The parts of each link in cells.
    tees : tuple of PlacedTee
        Tee pieces.
    hung : Hung
        What hangs on the state, in numbers.
    recirculated_fraction : float
        Share of the return that is led back. [-]
    """

    network: Network
    link_fluids: tuple[FluidPlan, ...]
    cells: tuple[LinkCells, ...]
    tees: tuple[PlacedTee, ...]
    hung: Hung
    recirculated_fraction: float

    @property
    def is_local(self) -> bool:
        """Say whether something must be looked at again after each solution."""
        return len(self.hung.tees) > 0 or len(self.hung.places.cells) > 0

    def at(
        self, engine_speed_rev_per_s: float, injected_m3_per_s: float, *, rule: int | None = None
    ) -> FeedState:
        """Solve one operating point: see `FeedCircuit.at`."""
        feed = self.network_at(engine_speed_rev_per_s, injected_m3_per_s, rule=rule).feed
        assert feed is not None  # a network with its pump has one
        return feed

    def network_at(
        self, engine_speed_rev_per_s: float, injected_m3_per_s: float, *, rule: int | None = None
    ) -> NetworkState:
        """
        Solve one operating point with every node and link.

        Parameters
        ----------
        engine_speed_rev_per_s, injected_m3_per_s, rule
            As for `FeedCircuit.at`.

        Returns
        -------
        NetworkState
            The state.

        Raises
        ------
        InputError
            There is no such state; it names the part.
        """
        chosen = self.rule if rule is None else rule
        demand = self.demand(float(engine_speed_rev_per_s), float(injected_m3_per_s))
        posed = pose_fed(
            self.network,
            self._pump_asked,
            self.fluid,
            self._supply(demand),
            link_fluids=self.link_fluids,
            rule=chosen,
        )
        return self._settled(posed)

    def at_many(
        self,
        engine_speed_rev_per_s: FloatArray,
        injected_m3_per_s: FloatArray,
        *,
        rule: int | None = None,
    ) -> FloatArray:
        """Solve many operating points: see `FeedCircuit.at_many`."""
        speeds = np.ascontiguousarray(engine_speed_rev_per_s, dtype=np.float64)
        wanted = np.ascontiguousarray(injected_m3_per_s, dtype=np.float64)
        states = solve_speeds(
            self.network,
            self._pump_asked,
            self.fluid,
            self._supply(Demand(0.0, 0.0, 0.0)),
            speeds * self.vehicle.pump.speed_ratio,
            wanted,
            speeds * self.backleak_m3_per_rev,
            hung=self.hung,
            link_fluids=self.link_fluids,
            rule=self.rule if rule is None else rule,
        )
        # A point without a state is asked again by itself, which settles it or names the part.
        for i in np.flatnonzero(states[:, -1] <= 0.0):
            states[i, :-1] = self.at(float(speeds[i]), float(wanted[i]), rule=rule)
        return states[:, :-1]

    @property
    def _pump_asked(self) -> PumpPlan:
        """Give the pump; what is released then comes with the sweep, not by its fixed share."""
        if self.vehicle.pump.gas_release_time_s is None:
            return self.pump
        return self.pump._replace(release_fraction=0.0)

    def steps(self, state: FeedState, through: Collection[str] = ()) -> tuple[PartStep, ...]:
        """Lay a solved point out along one way of the fuel: see `FeedCircuit.steps`."""
        return tuple(step for leg in self.legs(state, through) if leg.on_way for step in leg.steps)

    def legs(self, state: FeedState, through: Collection[str] = ()) -> tuple[Leg, ...]:
        """Lay a solved point out with every branch and the return: see `FeedCircuit.legs`."""
        found = self.drawn(state)
        flows = self._flows(found)
        tees = tee_losses(self.hung.tees, flows, self.fluid.density_kg_per_m3)
        way = way_of_most_fuel(self.network.links, flows.tolist(), through)
        taken = {index for index, _ in way}
        links = enumerate(self.network.links)
        beside = [(index, bool(flows[index] >= 0.0)) for index, _ in links if index not in taken]
        beside.sort(key=lambda each: self.network.links[each[0]].in_return)
        return tuple(
            self._leg(index, forward, found, float(tees[index]), state.feed_m3_per_s, taken)
            for index, forward in (*way, *beside)
        )

    def _leg(
        self,
        index: int,
        forward: bool,
        found: NetworkState,
        tee_pa: float,
        feed_m3_per_s: float,
        way: Collection[int],
    ) -> Leg:
        """Lay one link out in the direction of its flow."""
        link = self.network.links[index]
        flow = found.flow_m3_per_s[link.parts[0].id]
        depression = self.around.ambient_abs_pa - found.pressure_abs_pa[link.first]
        losses = part_losses(
            self.cells[index], flow, depression, self.link_fluids[index], self.rule
        )
        # What a tee takes is told with the part that stands beside it, on the pump's side.
        losses[-1 if forward else 0] += tee_pa
        share = abs(flow) / feed_m3_per_s if feed_m3_per_s > 0.0 else 1.0
        laid = [
            PartStep(part=part, loss_pa=loss if forward else -loss, flow_fraction=share)
            for part, loss in zip(link.parts, losses, strict=True)
        ]
        first, second = link.ends if forward else link.ends[::-1]
        return Leg(
            first=first,
            second=second,
            steps=tuple(laid if forward else reversed(laid)),
            on_way=index in way,
            in_return=link.in_return,
        )

    def back_pressure_pa(self, state: FeedState) -> float:
        """Give what the return line holds against the pump: see `FeedCircuit`."""
        if RETURN not in self.network.nodes:
            return 0.0
        found = self.drawn(state)
        return found.pressure_abs_pa[RETURN] - found.pressure_abs_pa[TANK]

    def drawn(self, state: FeedState) -> NetworkState:
        """
        Solve every node and link with the flows of a solved point.

        Parameters
        ----------
        state : FeedState
            A solved point of this circuit.

        Returns
        -------
        NetworkState
            The same point in full.

        Raises
        ------
        InputError
            The point is not one of this network.
        """
        draws = {INLET: state.feed_m3_per_s}
        recirculation = self.vehicle.recirculation
        back = self.recirculated_fraction * state.return_m3_per_s
        if recirculation is not None:
            draws[recirculation.to_node] = draws.get(recirculation.to_node, 0.0) - back
        if RETURN in self.network.nodes:
            draws[RETURN] = back - state.return_m3_per_s

        posed = pose_drawn(
            self.network,
            draws,
            self.fluid,
            tank_pressure_abs_pa=self.around.ambient_abs_pa - self.around.static_pa,
            link_fluids=self.link_fluids,
            rule=self.rule,
        )
        return self._settled(posed)

    def _supply(self, demand: Demand) -> Supply:
        """Give what the network is asked under."""
        return Supply(
            self.around.static_pa,
            self.around.ambient_abs_pa,
            self.around.saturation_abs_pa,
            demand.pump_speed_rev_per_s,
            demand.injected_m3_per_s,
            demand.backleak_m3_per_s,
            self.recirculated_fraction,
            1,
        )

    def _settled(self, posed: Posed) -> NetworkState:
        """Solve, look at the places, and solve again until nothing moves."""
        if not self.is_local:
            return _existing(posed.state(posed.solve(None, None, 0.0)))
        density = self.fluid.density_kg_per_m3
        hoses, tees, hoses_now, tees_now = np.zeros((4, len(self.network.links)))
        gas, nearest, nearest_pa = 0.0, None, math.inf
        for turn in range(MOST_ROUNDS):
            steps = posed.solve(hoses, tees, gas)
            if steps < 0 or shut_links(self.network, posed.work).any():
                _existing(posed.state(steps, gas))
            gas_now = posed.look(self.hung, hoses_now, tees_now)
            flows = posed.work.links["flow_m3_per_s"]
            moved = np.abs(hoses_now - hoses) * density * flows**2 + np.abs(tees_now - tees)
            left_pa = max(float(moved.max()), abs(gas_now - gas))
            if left_pa <= ROUND_TOLERANCE_PA:
                return posed.state(steps, gas)
            if left_pa < nearest_pa:
                nearest, nearest_pa = (hoses, tees, gas), left_pa
            weight = next(share for first, share in SHARES_OF_A_STEP if turn >= first)
            hoses = hoses + weight * (hoses_now - hoses)
            tees = tees + weight * (tees_now - tees)
            gas = gas + weight * (gas_now - gas)
        if nearest is not None and nearest_pa <= NEAR_PA:
            return posed.state(posed.solve(*nearest), nearest[2])
        worst = int(np.argmax(moved))
        raise InputError.at(
            self.network.links[worst].parts[0].id,
            f"no steady state: what is lost here still changes after {MOST_ROUNDS} rounds.",
            "A hose that collapses may flutter in truth; make it firmer or its span wider.",
        )

    def _flows(self, state: NetworkState) -> FloatArray:
        """Give the flow of each link from its first to its second node. [m3/s]."""
        return np.array([state.flow_m3_per_s[link.parts[0].id] for link in self.network.links])


def _existing(state: NetworkState) -> NetworkState:
    """Give a state that exists; else say which part is to blame."""
    if not state.exists:
        raise InputError(list(state.findings))
    return state


def network_circuit(
    vehicle: Vehicle,
    line: Line,
    fuel: Fuel,
    conditions: Conditions,
    fluid: FluidPlan,
    return_fluid: FluidPlan,
    around: Surroundings,
    rule: int,
) -> NetworkCircuit:
    """
    Lower a vehicle with branches to its circuit.

    Parameters
    ----------
    vehicle, line, fuel, conditions
        As for `feedproof.feedline.circuit.build_circuit`.
    fluid, return_fluid : FluidPlan
        The fuel at the pump inlet and in the return line.
    around : Surroundings
        Air, tank and lift.
    rule : int
        Friction rule.

    Returns
    -------
    NetworkCircuit
        Ready to be asked.

    Raises
    ------
    InputError
        All that is wrong with the network at once.
    """
    back = vehicle.recirculation
    network = lower_network(line, vehicle.return_line, recirculation=back, conditions=conditions)
    mixed_at = None if back is None else back.to_node
    led_back = 0.0 if back is None else back.fraction_at(conditions.fuel_temperature_k)
    tees = place_tees(vehicle.tees, network.links)
    is_swept = vehicle.pump.gas_release_time_s is not None or has_local(line.parts)
    fluids = _link_fluids(network.links, fuel, conditions, fluid, return_fluid, mixed_at)
    cells = link_cells(network.links, dict(conditions.captured_mass_kg), fluids)
    return NetworkCircuit(
        vehicle=vehicle,
        line=line,
        conditions=conditions,
        fluid=fluid,
        return_fluid=return_fluid,
        pump=lower_pump(vehicle.pump),
        around=around,
        rule=rule,
        network=network,
        link_fluids=fluids,
        cells=cells,
        tees=tees,
        hung=hung_on(
            network.links,
            tees,
            cells if is_swept else (),
            around,
            lower_pump(vehicle.pump).release_time_s,
        ),
        recirculated_fraction=led_back,
    )


def _link_fluids(
    links: Sequence[Link],
    fuel: Fuel,
    conditions: Conditions,
    fluid: FluidPlan,
    return_fluid: FluidPlan,
    mixed_at: str | None,
) -> tuple[FluidPlan, ...]:
    """Give the fuel of each link by its place between tank and pump."""
    temperatures = network_temperatures(links, conditions, mixed_at)
    return tuple(
        return_fluid
        if link.in_return
        else fluid
        if temperature == conditions.fuel_temperature_k
        else lower_fluid(fuel, temperature)
        for link, temperature in zip(links, temperatures, strict=True)
    )

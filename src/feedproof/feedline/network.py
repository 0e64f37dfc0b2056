"""A feed line with branches under given conditions, solved: with its pump, or with given draws."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.core.errors import InputError
from feedproof.feedline.network_balance import (
    LINK_WORK,
    NODE_WORK,
    Supply,
    Work,
    pump_at,
)
from feedproof.feedline.network_nodes import INLET, RETURN
from feedproof.feedline.network_plan import Network
from feedproof.feedline.network_settle import Hung, hung_on, look, solve_many
from feedproof.feedline.network_solve import solve_network
from feedproof.feedline.network_state import NetworkState, read_state
from feedproof.feedline.plan import FluidPlan, PumpPlan
from feedproof.feedline.pump_state import FeedState

FloatArray = NDArray[np.float64]

# Solved by nobody's pump: a network whose draws are given still hands one to the solver.
_NO_PUMP = PumpPlan(0, 0.0, 0.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0, -1.0, 0.0)


def work_for(network: Network) -> Work:
    """
    Make the arrays that solutions of a network are worked out in.

    Parameters
    ----------
    network : Network
        The network.

    Returns
    -------
    Work
        Of its size, nothing drawn.
    """
    nodes = network.plan.nodes
    return Work(
        nodes=np.zeros(nodes, dtype=NODE_WORK).view(np.recarray),
        links=np.zeros(len(network.links), dtype=LINK_WORK).view(np.recarray),
        matrix=np.zeros((nodes - 1, nodes - 1)),
        side=np.zeros(nodes - 1),
        pump_slopes=np.zeros(3),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Posed:
    """
    A network under given conditions, to be solved as often as its losses change.

    Parameters
    ----------
    network : Network
        Whose links carry the fluids of the table.
    work : Work
        Arrays of the last solution.
    fluids : array, shape (n_fluids, 5)
        As for `feedproof.feedline.network_solve.solve_from`.
    pump : PumpPlan
        The pump.
    fluid : FluidPlan
        The fuel at the pump inlet.
    supply : Supply
        What the network is asked under.
    rule : int
        Friction rule.
    used : collection of str
        Nodes that fuel must reach.
    """

    network: Network
    work: Work
    fluids: FloatArray
    pump: PumpPlan
    fluid: FluidPlan
    supply: Supply
    rule: int
    used: Collection[str]

    @property
    def tank_abs_pa(self) -> float:
        """Give the pressure in the tank, at the height of the network. [Pa]."""
        return self.supply.ambient_abs_pa - self.supply.static_pa

    def solve(
        self, inertial_per_m4: FloatArray | None, offset_pa: FloatArray | None, gas_pa: float
    ) -> int:
        """
        Solve it with losses added to its links.

        Parameters
        ----------
        inertial_per_m4, offset_pa : array, shape (n_links,), or None
            As for `Network.with_added`; None adds nothing. [1/m4], [Pa]
        gas_pa : float
            Gas at the pump inlet that does not come by the pump's fixed share. [Pa]

        Returns
        -------
        int
            Steps taken; below 0 without a solution.
        """
        plan = self.network.plan
        if inertial_per_m4 is not None and offset_pa is not None:
            plan = self.network.with_added(inertial_per_m4, offset_pa).plan
        supply = self.supply._replace(gas_pa=gas_pa)
        return int(solve_network(self.work, plan, self.fluids, self.pump, supply, self.rule))

    def look(self, hung: Hung, inertial_per_m4: FloatArray, offset_pa: FloatArray) -> float:
        """Look at what hangs on the last solution: see `feedproof.feedline.network_settle.look`."""
        plan = self.network.plan
        gas = look(self.work, plan, hung, self.fluids, self.rule, inertial_per_m4, offset_pa)
        return float(gas)

    def state(
        self, steps: int, gas_pa: float = 0.0, above_inlet_m: Mapping[str, float] | None = None
    ) -> NetworkState:
        """
        Read the last solution.

        Parameters
        ----------
        steps : int
            That it took.
        gas_pa : float
            That it was solved with. [Pa]
        above_inlet_m : mapping of str to float or None
            Heights of nodes above the pump inlet. [m]

        Returns
        -------
        NetworkState
            The state, with errors where it does not exist.
        """
        feed = None
        if self.supply.pumped:
            pressure = self.work.nodes[self.network.plan.inlet].pressure_pa
            supply = self.supply._replace(gas_pa=gas_pa)
            feed = FeedState(*pump_at(pressure, self.pump, self.fluid, supply))
        return read_state(
            self.network,
            self.work,
            steps,
            feed,
            self.used,
            self.tank_abs_pa,
            self.fluid,
            above_inlet_m or {},
        )


def pose_fed(
    network: Network,
    pump: PumpPlan,
    fluid: FluidPlan,
    supply: Supply,
    *,
    return_fluid: FluidPlan | None = None,
    link_fluids: Sequence[FluidPlan] | None = None,
    rule: int = 0,
) -> Posed:
    """
    Put the question of a network together with the pump at its inlet.

    Parameters
    ----------
    network, pump, fluid, supply, return_fluid, link_fluids, rule
        As for `solve_fed`.

    Returns
    -------
    Posed
        To be solved.

    Raises
    ------
    InputError
        As for `solve_fed`.
    """
    if INLET not in network.nodes:
        raise InputError.at("line", f"no part ends at {INLET!r}, so nothing feeds the pump.")
    used = {INLET} | ({RETURN} if supply.recirculated_fraction < 1.0 else set())
    return Posed(
        network=_carrying(network, link_fluids),
        work=work_for(network),
        fluids=_table(network, fluid, return_fluid or fluid, link_fluids),
        pump=pump,
        fluid=fluid,
        supply=_checked(network, supply),
        rule=rule,
        used=used & set(network.nodes),
    )


def pose_drawn(
    network: Network,
    draw_m3_per_s: Mapping[str, float],
    fluid: FluidPlan,
    *,
    tank_pressure_abs_pa: float,
    return_fluid: FluidPlan | None = None,
    link_fluids: Sequence[FluidPlan] | None = None,
    rule: int = 0,
) -> Posed:
    """
    Put the question of a network out of which given flows are drawn.

    Parameters
    ----------
    network, draw_m3_per_s, fluid, tank_pressure_abs_pa, return_fluid, link_fluids, rule
        As for `solve_drawn`.

    Returns
    -------
    Posed
        To be solved.

    Raises
    ------
    InputError
        As for `solve_drawn`.
    """
    work = work_for(network)
    for node, flow in draw_m3_per_s.items():
        work.nodes[network.index(node)].draw_m3_per_s = flow
    return Posed(
        network=_carrying(network, link_fluids),
        work=work,
        fluids=_table(network, fluid, return_fluid or fluid, link_fluids),
        pump=_NO_PUMP,
        fluid=fluid,
        supply=Supply(0.0, tank_pressure_abs_pa, tank_pressure_abs_pa, 0.0, 0.0, 0.0, 0.0, 0),
        rule=rule,
        used={node for node, flow in draw_m3_per_s.items() if flow != 0.0},
    )


def solve_fed(
    network: Network,
    pump: PumpPlan,
    fluid: FluidPlan,
    supply: Supply,
    *,
    return_fluid: FluidPlan | None = None,
    link_fluids: Sequence[FluidPlan] | None = None,
    rule: int = 0,
    above_inlet_m: Mapping[str, float] | None = None,
) -> NetworkState:
    """
    Solve a network together with the pump at its inlet.

    Parameters
    ----------
    network : Network
        From `lower_network`.
    pump : PumpPlan
        The pump.
    fluid : FluidPlan
        The fuel in the feed line.
    supply : Supply
        Air, speed, demand, and the share of the return that is led back.
    return_fluid : FluidPlan or None
        The fuel in the return line, where it is warmer; None takes the same.
    link_fluids : sequence of FluidPlan or None
        The fuel in each link, where the line is not of one temperature.
    rule : int
        Friction rule.
    above_inlet_m : mapping of str to float or None
        Height of nodes above the pump inlet; pressures of the others are those at its height. [m]

    Returns
    -------
    NetworkState
        The state.

    Raises
    ------
    InputError
        The network has no pump inlet; return is led back that cannot be.
    """
    posed = pose_fed(
        network,
        pump,
        fluid,
        supply,
        return_fluid=return_fluid,
        link_fluids=link_fluids,
        rule=rule,
    )
    steps = posed.solve(None, None, supply.gas_pa)
    return posed.state(steps, supply.gas_pa, above_inlet_m)


def solve_drawn(
    network: Network,
    draw_m3_per_s: Mapping[str, float],
    fluid: FluidPlan,
    *,
    tank_pressure_abs_pa: float,
    return_fluid: FluidPlan | None = None,
    link_fluids: Sequence[FluidPlan] | None = None,
    rule: int = 0,
) -> NetworkState:
    """
    Solve a network out of which given flows are drawn.

    Parameters
    ----------
    network : Network
        From `lower_network`.
    draw_m3_per_s : mapping of str to float
        Flow drawn, by node; negative is put in. [m3/s]
    fluid : FluidPlan
        The fuel.
    tank_pressure_abs_pa : float
        In the tank, at the height of the network. [Pa]
    return_fluid, link_fluids
        As for `solve_fed`.
    rule : int
        Friction rule.

    Returns
    -------
    NetworkState
        The state.

    Raises
    ------
    InputError
        A node that the network does not have.
    """
    posed = pose_drawn(
        network,
        draw_m3_per_s,
        fluid,
        tank_pressure_abs_pa=tank_pressure_abs_pa,
        return_fluid=return_fluid,
        link_fluids=link_fluids,
        rule=rule,
    )
    return posed.state(posed.solve(None, None, 0.0))


def solve_speeds(
    network: Network,
    pump: PumpPlan,
    fluid: FluidPlan,
    supply: Supply,
    pump_speed_rev_per_s: FloatArray,
    injected_m3_per_s: FloatArray,
    backleak_m3_per_s: FloatArray,
    *,
    hung: Hung | None = None,
    return_fluid: FluidPlan | None = None,
    link_fluids: Sequence[FluidPlan] | None = None,
    rule: int = 0,
) -> FloatArray:
    """
    Solve many speeds of the pump in one call.

    Parameters
    ----------
    network, pump, fluid, supply
        As for `solve_fed`; speed and demand in `supply` are passed over.
    pump_speed_rev_per_s, injected_m3_per_s, backleak_m3_per_s : array, shape (n,)
        Speeds and demands. [rev/s], [m3/s]
    hung : Hung or None
        What hangs on the state itself: tees, soft hoses, gas.
    return_fluid, link_fluids, rule
        As for `solve_fed`.

    Returns
    -------
    array, shape (n, 10)
        Rows in the order of `FeedState`, then the steps taken, below 0 without a solution, 0
        where what hangs on the state did not come to rest or valves shut off pump or return.

    Raises
    ------
    InputError
        As for `solve_fed`.
    """
    return solve_many(
        work_for(network),
        _carrying(network, link_fluids).plan,
        hung or hung_on(network.links, (), ()),
        _table(network, fluid, return_fluid or fluid, link_fluids),
        pump,
        _checked(network, supply),
        np.ascontiguousarray(pump_speed_rev_per_s, dtype=np.float64),
        np.ascontiguousarray(injected_m3_per_s, dtype=np.float64),
        np.ascontiguousarray(backleak_m3_per_s, dtype=np.float64),
        rule,
    )


def _table(
    network: Network,
    fluid: FluidPlan,
    return_fluid: FluidPlan,
    link_fluids: Sequence[FluidPlan] | None,
) -> FloatArray:
    """Write the fluids into a table: at the pump inlet, then of the return or of each link."""
    rows = (fluid, return_fluid) if link_fluids is None else (fluid, *link_fluids)
    if link_fluids is not None and len(link_fluids) != len(network.links):
        raise ValueError("one fluid for each link is needed")
    return np.array(rows, dtype=np.float64)


def _carrying(network: Network, link_fluids: Sequence[FluidPlan] | None) -> Network:
    """Let each link carry a fluid of its own where such are given."""
    return network if link_fluids is None else network.with_fluid_of_each_link()


def _checked(network: Network, supply: Supply) -> Supply:
    """Refuse a share of the return that has no way back; let the pump draw."""
    share = supply.recirculated_fraction
    if not 0.0 <= share <= 1.0:
        raise InputError.at("recirculation", f"leads {share:g} of the return back, not 0 to 1.")
    if share > 0.0 and network.plan.recirculation_node < 0:
        raise InputError.at(
            "recirculation",
            f"{share:g} of the return is to be led back, and the line has no node for it.",
            "Describe the recirculation when the network is made.",
        )
    return supply._replace(pumped=1)

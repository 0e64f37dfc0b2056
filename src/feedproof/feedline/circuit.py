"""From a vehicle, a line and a fuel to the circuit that can be asked: a chain or a network."""

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Line
from feedproof.case.vehicle import Vehicle
from feedproof.feedline.cells import lower_cells, needs_march
from feedproof.feedline.chain_circuit import ChainCircuit
from feedproof.feedline.feed_circuit import NO_LOAD_FUEL_FRACTION, RULES, FeedCircuit, PartStep
from feedproof.feedline.network_circuit import network_circuit
from feedproof.feedline.network_nodes import needs_network
from feedproof.feedline.plan import (
    NO_CELLS,
    FluidPlan,
    lower_fluid,
    lower_pump,
    lower_rows,
    merge_rows,
    static_depression_pa,
    tank_depression_pa,
)
from feedproof.feedline.profile import part_fluids
from feedproof.feedline.surroundings import Surroundings

__all__ = ["NO_LOAD_FUEL_FRACTION", "RULES", "FeedCircuit", "PartStep", "build_circuit"]


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
        Ready to be asked: a chain solved directly, or a network where parts name nodes, a lift
        pump runs or return is led back.

    Raises
    ------
    InputError
        A network that cannot be solved; all that is wrong with it at once.
    """
    fluid = lower_fluid(fuel, conditions.fuel_temperature_k)
    around = surroundings_of(vehicle, conditions, fluid)
    warm = conditions.return_fuel_temperature_k
    return_fluid = fluid if warm is None else lower_fluid(fuel, warm)
    if needs_network(line, vehicle.return_line) or vehicle.recirculation is not None:
        return network_circuit(
            vehicle, line, fuel, conditions, fluid, return_fluid, around, RULES[rule]
        )
    rows = lower_rows(line, conditions.captured_mass_kg)
    cells = NO_CELLS
    counts: tuple[int, ...] = ()
    if needs_march(line, vehicle.pump, conditions):
        cells, counts = lower_cells(line.parts, rows, part_fluids(line.parts, fuel, conditions))
    return ChainCircuit(
        vehicle=vehicle,
        line=line,
        conditions=conditions,
        fluid=fluid,
        return_fluid=return_fluid,
        pump=lower_pump(vehicle.pump),
        around=around,
        rule=RULES[rule],
        rows=rows,
        plan=merge_rows(rows, cells),
        cells_of_part=counts,
    )


def surroundings_of(vehicle: Vehicle, conditions: Conditions, fluid: FluidPlan) -> Surroundings:
    """
    Give the world around a vehicle's line.

    Parameters
    ----------
    vehicle : Vehicle
        For the tank.
    conditions : Conditions
        Air, level, pitch, breather.
    fluid : FluidPlan
        For the weight of the fuel.

    Returns
    -------
    Surroundings
        As the solvers take it; air that a leak draws in is taken at the fuel's temperature.
    """
    ambient = conditions.ambient_pressure_abs_pa
    return Surroundings(
        static_depression_pa(vehicle.tank, conditions, fluid),
        ambient,
        ambient - tank_depression_pa(vehicle.tank, conditions),
        conditions.fuel_temperature_k,
    )

"""The pressure staircase: where along the line the pressure is lost, and how much is left."""

from dataclasses import dataclass

from feedproof.case.conditions import Conditions
from feedproof.feedline.circuit import FeedCircuit
from feedproof.feedline.pump_state import FeedState

TANK, LIFT = ".tank", ".lift"
"""Steps that are no part: an id of a part begins with a letter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """
    One step of the staircase.

    Parameters
    ----------
    part_id, title : str
        The part; ``.lift`` and ``.tank``, which no part can be called, for the steps that are none.
    owner : str
        ``factory`` or the id of the kit that the part belongs to.
    loss_pa : float
        Pressure lost in it. [Pa]
    depression_after_pa, pressure_abs_after_pa : float
        After it. [Pa]
    share_fraction : float
        Of the whole depression. [-]
    flow_fraction : float
        Flow through it over the feed; below 1 in one of several branches. [-]
    """

    part_id: str
    title: str
    owner: str
    loss_pa: float
    depression_after_pa: float
    pressure_abs_after_pa: float
    share_fraction: float
    flow_fraction: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Staircase:
    """
    A line at one operating point, part by part.

    Parameters
    ----------
    configuration : str
        ``baseline`` or kits joined by ``+``.
    conditions : Conditions
        Under which.
    engine_speed_rev_per_s, feed_m3_per_s : float
        Operating point. [rev/s], [m3/s]
    steps : tuple of Step
        Tank to pump inlet.
    limit_abs_pa : float or None
        Maker's least absolute inlet pressure; None when no limit is known. [Pa]
    room_pa : float or None
        Absolute pressure at the inlet less the limit, negative beyond it; None when no limit
        is known. [Pa]
    """

    configuration: str
    conditions: Conditions
    engine_speed_rev_per_s: float
    feed_m3_per_s: float
    steps: tuple[Step, ...]
    limit_abs_pa: float | None
    room_pa: float | None


def staircase(
    circuit: FeedCircuit,
    state: FeedState,
    engine_speed_rev_per_s: float,
    configuration: str,
    owners: dict[str, str],
) -> Staircase:
    """
    Lay a solved operating point out part by part.

    Parameters
    ----------
    circuit : FeedCircuit
        The circuit.
    state : FeedState
        A solved point of it.
    engine_speed_rev_per_s : float
        Engine speed of that point. [rev/s]
    configuration : str
        Its name.
    owners : dict of str to str
        Kit that each added part belongs to, by part id.

    Returns
    -------
    Staircase
        The last step's depression equals the state's, to rounding.
    """
    ambient = circuit.conditions.ambient_pressure_abs_pa
    total = state.depression_pa
    below = ambient - circuit.saturation_abs_pa
    head = circuit.static_pa - below
    losses = [(LIFT, "lift from the fuel surface", "factory", head, 1.0)]
    if below != 0.0:
        losses.insert(0, (TANK, "tank below ambient", "factory", below, 1.0))
    for step in circuit.steps(state, owners):
        part = step.part
        owner = owners.get(part.id, "factory")
        losses.append((part.id, part.title or part.id, owner, step.loss_pa, step.flow_fraction))
    steps = []
    depression = 0.0
    for part_id, title, owner, loss, flow in losses:
        depression += loss
        steps.append(
            Step(
                part_id=part_id,
                title=title,
                owner=owner,
                loss_pa=loss,
                depression_after_pa=depression,
                pressure_abs_after_pa=ambient - depression,
                share_fraction=loss / total if total > 0.0 else 0.0,
                flow_fraction=flow,
            )
        )
    limit = circuit.vehicle.pump.maker_limit_abs_pa
    return Staircase(
        configuration=configuration,
        conditions=circuit.conditions,
        engine_speed_rev_per_s=engine_speed_rev_per_s,
        feed_m3_per_s=state.feed_m3_per_s,
        steps=tuple(steps),
        limit_abs_pa=limit,
        room_pa=None if limit is None else state.pressure_abs_pa - limit,
    )

"""
Budgets of a return flow caught in a jug or on a balance, and of its change with a kit.

What both catches share (the jug, the balance, the thermometer, the fuel) is one input of the
model of the difference and cancels there by itself; what each catch has of its own does not.
"""

from dataclasses import dataclass, replace

from feedproof.evidence.budget.catch_models import (
    REFERENCE_TEMPERATURE_K,
    LossOf,
    flow_by_volume,
    flow_by_weighing,
)
from feedproof.evidence.budget.doubt import Doubt, Source
from feedproof.evidence.budget.measurand import Measurand, Model


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeDoubts:
    """
    What is known of a jug and of who reads it.

    Parameters
    ----------
    measure, reading, left_over : Doubt
        Of the measure itself, one reading, and fuel left behind in one catch. [m3]
    reaction : Doubt
        Of starting, and of stopping. [s]
    temperature : Doubt
        Of the thermometer. [K]
    expansion : Doubt
        Of the fuel's expansion. [1/K]
    """

    measure: Doubt
    reading: Doubt
    left_over: Doubt
    reaction: Doubt
    temperature: Doubt
    expansion: Doubt


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighingDoubts:
    """
    What is known of a balance and of who reads it.

    Parameters
    ----------
    balance, reading, left_over : Doubt
        Of the balance itself, one reading, and fuel left behind in one catch. [kg]
    buoyancy : Doubt
        Of the air's share. [-]
    reaction : Doubt
        Of starting, and of stopping. [s]
    density : Doubt
        Of the fuel's density at 15 degC. [kg/m3]
    """

    balance: Doubt
    reading: Doubt
    left_over: Doubt
    buoyancy: Doubt
    reaction: Doubt
    density: Doubt


@dataclass(frozen=True, slots=True, kw_only=True)
class Catch:
    """
    One catch, or the mean of like ones.

    Parameters
    ----------
    amount : float
        Volume or mass as read. [m3] or [kg]
    duration_s : float
        How long. [s]
    temperature_k : float
        Of the fuel in the measure; of no matter for a mass. [K]
    count : int
        Catches of which this is the mean. [-]
    """

    amount: float
    duration_s: float
    temperature_k: float = REFERENCE_TEMPERATURE_K
    count: int = 1

    def __post_init__(self) -> None:
        """Refuse a catch of nothing."""
        if not (self.amount > 0.0 and self.duration_s > 0.0):
            raise ValueError(
                f"caught {self.amount:g} in {self.duration_s:g} s: both must be above 0"
            )


def return_by_volume(caught: Catch, doubts: VolumeDoubts, *, expansion_per_k: float) -> Measurand:
    """
    Describe a return flow caught in a jug.

    Parameters
    ----------
    caught : Catch
        By volume.
    doubts : VolumeDoubts
        Of the jug and its reader.
    expansion_per_k : float
        Of the fuel. [1/K]

    Returns
    -------
    Measurand
        In m3/s at 15 degC.
    """
    return Measurand(
        quantity="return flow by volume",
        unit="m3/s",
        model=flow_by_volume,
        sources=(
            *_own(doubts.reading, doubts.left_over, doubts.reaction, caught, "m3"),
            *_shared_by_volume(doubts, expansion_per_k),
        ),
        fixed=(
            ("volume_m3", caught.amount),
            ("duration_s", caught.duration_s),
            ("temperature_k", caught.temperature_k),
        ),
    )


def return_by_weighing(
    caught: Catch, doubts: WeighingDoubts, *, density_15c_kg_per_m3: float
) -> Measurand:
    """
    Describe a return flow caught and weighed.

    Parameters
    ----------
    caught : Catch
        By mass.
    doubts : WeighingDoubts
        Of the balance and its reader.
    density_15c_kg_per_m3 : float
        Of the fuel. [kg/m3]

    Returns
    -------
    Measurand
        In m3/s at 15 degC.
    """
    return Measurand(
        quantity="return flow by weighing",
        unit="m3/s",
        model=flow_by_weighing,
        sources=(
            *_own(doubts.reading, doubts.left_over, doubts.reaction, caught, "kg"),
            *_shared_by_weighing(doubts, density_15c_kg_per_m3),
        ),
        fixed=(("mass_kg", caught.amount), ("duration_s", caught.duration_s)),
    )


def return_loss_by_volume(
    without: Catch, with_kit: Catch, doubts: VolumeDoubts, *, expansion_per_k: float
) -> Measurand:
    """
    Describe the loss of return between catches in one jug.

    Parameters
    ----------
    without, with_kit : Catch
        Means of the catches without and with the kit.
    doubts : VolumeDoubts
        Of the jug and its reader, who are the same.
    expansion_per_k : float
        Of the fuel, which is the same. [1/K]

    Returns
    -------
    Measurand
        -100 ln of the ratio of flows. [log-percent]
    """
    shared = _shared_by_volume(doubts, expansion_per_k)
    return _loss(
        "loss of return, one jug",
        flow_by_volume,
        shared,
        _own(doubts.reading, doubts.left_over, doubts.reaction, without, "m3"),
        _own(doubts.reading, doubts.left_over, doubts.reaction, with_kit, "m3"),
        tuple(
            {"volume_m3": c.amount, "duration_s": c.duration_s, "temperature_k": c.temperature_k}
            for c in (without, with_kit)
        ),
    )


def return_loss_by_weighing(
    without: Catch, with_kit: Catch, doubts: WeighingDoubts, *, density_15c_kg_per_m3: float
) -> Measurand:
    """
    Describe the loss of return between catches on one balance.

    Parameters
    ----------
    without, with_kit : Catch
        Means of the catches without and with the kit.
    doubts : WeighingDoubts
        Of the balance and its reader, who are the same.
    density_15c_kg_per_m3 : float
        Of the fuel, which is the same. [kg/m3]

    Returns
    -------
    Measurand
        -100 ln of the ratio of flows. [log-percent]
    """
    shared = _shared_by_weighing(doubts, density_15c_kg_per_m3)
    return _loss(
        "loss of return, one balance",
        flow_by_weighing,
        shared,
        _own(doubts.reading, doubts.left_over, doubts.reaction, without, "kg"),
        _own(doubts.reading, doubts.left_over, doubts.reaction, with_kit, "kg"),
        tuple({"mass_kg": c.amount, "duration_s": c.duration_s} for c in (without, with_kit)),
    )


def _loss(
    quantity: str,
    flow: Model,
    shared: tuple[Source, ...],
    without: tuple[Source, ...],
    with_kit: tuple[Source, ...],
    fixed: tuple[dict[str, float], ...],
) -> Measurand:
    """Describe the loss between two catches from what they share and what each has of its own."""
    own = [
        replace(source, symbol=f"{source.symbol}_{side}", name=f"{source.name}, {side} the kit")
        for side, sources in (("without", without), ("with", with_kit))
        for source in sources
    ]
    return Measurand(
        quantity=quantity,
        unit="log-percent",
        model=LossOf(flow),
        sources=(*own, *shared),
        fixed=tuple(
            (f"{name}_{side}", value)
            for side, each in zip(("without", "with"), fixed, strict=True)
            for name, value in each.items()
        ),
    )


def _own(
    reading: Doubt, left_over: Doubt, reaction: Doubt, caught: Catch, unit: str
) -> tuple[Source, ...]:
    """List what each catch has of its own; repeated catches show it in their scatter."""
    letters = unit.replace("/", "_per_")

    def source(symbol: str, name: str, in_unit: str, doubt: Doubt, count: int) -> Source:
        """Make one that repeats show."""
        return Source(
            symbol=symbol,
            name=name,
            value=0.0,
            unit=in_unit,
            doubt=doubt,
            count=count,
            in_repeats=True,
        )

    return (
        source(f"reading_error_{letters}", "reading", unit, reading, caught.count),
        source(f"left_over_{letters}", "fuel left behind", unit, left_over, caught.count),
        source("start_error_s", "start of the watch", "s", reaction, caught.count),
        source("stop_error_s", "stop of the watch", "s", reaction, caught.count),
    )


def _shared_by_volume(doubts: VolumeDoubts, expansion_per_k: float) -> tuple[Source, ...]:
    """List what all catches in one jug share."""
    return (
        Source(
            symbol="measure_error_m3", name="the jug", value=0.0, unit="m3", doubt=doubts.measure
        ),
        Source(
            symbol="temperature_error_k",
            name="temperature of the fuel",
            value=0.0,
            unit="K",
            doubt=doubts.temperature,
        ),
        Source(
            symbol="expansion_per_k",
            name="expansion of the fuel",
            value=expansion_per_k,
            unit="1/K",
            doubt=doubts.expansion,
        ),
    )


def _shared_by_weighing(doubts: WeighingDoubts, density: float) -> tuple[Source, ...]:
    """List what all catches on one balance share."""
    return (
        Source(
            symbol="balance_error_kg",
            name="the balance",
            value=0.0,
            unit="kg",
            doubt=doubts.balance,
        ),
        Source(
            symbol="buoyancy",
            name="buoyancy of the air",
            value=0.0,
            unit="1",
            doubt=doubts.buoyancy,
        ),
        Source(
            symbol="density_15c_kg_per_m3",
            name="density of the fuel",
            value=density,
            unit="kg/m3",
            doubt=doubts.density,
        ),
    )

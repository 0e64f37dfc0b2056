"""Budgets of a case's gauge and roller: its instruments and runs, put into the budgets' models."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from feedproof.app import declared_doubts as declared
from feedproof.case.case import Case
from feedproof.case.margin import Measure
from feedproof.case.run import Instrument, Role, Run
from feedproof.evidence.budget.depression import (
    depression,
    depression_between_gauges,
    depression_difference,
    gauge_class,
)
from feedproof.evidence.budget.doubt import limit
from feedproof.evidence.budget.measurand import Budget, Measurand, linear_budget
from feedproof.evidence.budget.power import power_difference
from feedproof.evidence.reduced import ReducedRun
from feedproof.evidence.trial import BASELINE

TYPICAL_SHARE = 0.2
"""Of a depression that a kit adds where no difference was measured: judged. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """
    The runs that one configuration is judged from.

    Parameters
    ----------
    configuration : str
        Of the kit.
    without, with_kit : tuple of ReducedRun
        Compared runs of the sessions that hold both.
    records : mapping by run number
        The runs as recorded.
    """

    configuration: str
    without: tuple[ReducedRun, ...]
    with_kit: tuple[ReducedRun, ...]
    records: dict[int, Run]

    def scatter_factor(self) -> float:
        """Give the variance of a difference of means over that of one run."""
        sizes = (len(self.without), len(self.with_kit))
        return math.fsum(1.0 / size for size in sizes) if all(sizes) else math.inf


def pair_of(case: Case, reduced: Sequence[ReducedRun], kits: tuple[str, ...], role: Role) -> Pair:
    """
    Collect the runs that one configuration is judged from.

    Parameters
    ----------
    case : Case
        The case.
    reduced : sequence of ReducedRun
        All reduced runs.
    kits : tuple of str
        Kit ids.
    role : Role
        What the kit's runs are for.

    Returns
    -------
    Pair
        Those that count; empty where nothing can be compared.
    """
    records = {run.number: run for run in case.runs}
    counted = [run for run in reduced if not records[run.number].excluded]
    mine = [r for r in counted if records[r.number].kits == kits and records[r.number].role is role]
    sessions = {run.session for run in mine}
    bare = [
        run
        for run in counted
        if run.configuration == BASELINE and run.role is Role.COMPARE and run.session in sessions
    ]
    return Pair(
        configuration="+".join(kits), without=tuple(bare), with_kit=tuple(mine), records=records
    )


def gauge(case: Case) -> Instrument | None:
    """
    Find the instrument that reads the pump inlet.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    Instrument or None
        The first that has such a channel.
    """
    return next((each for each in case.instruments.values() if _reads_inlet(each)), None)


def gauge_budgets(case: Case, difference_pa: float, runs_each: int) -> tuple[Budget, ...]:
    """
    Budget the depression and a difference of depressions on the case's own gauge.

    Parameters
    ----------
    case : Case
        With its instruments.
    difference_pa : float
        Difference of interest. [Pa]
    runs_each : int
        Runs of each configuration. [-]

    Returns
    -------
    tuple of Budget
        Absolute and difference, instruments only; empty when the gauge's class or span is not
        declared.
    """
    one = depression_of(case, gauge(case), 0.0)
    two = difference_of(case, [gauge(case)], [gauge(case)], difference_pa, runs_each)
    return () if one is None or two is None else (linear_budget(one), linear_budget(two))


def depression_of(case: Case, instrument: Instrument | None, reading_pa: float) -> Measurand | None:
    """
    Describe one absolute depression of the case.

    Parameters
    ----------
    case : Case
        With its runs' zeros.
    instrument : Instrument or None
        The gauge.
    reading_pa : float
        Reading. [Pa]

    Returns
    -------
    Measurand or None
        None when the gauge's class or span is not declared.
    """
    if instrument is None or instrument.span_pa is None or instrument.class_percent is None:
        return None
    height = instrument.gauge_above_inlet_m if instrument.gauge_line_filled else 0.0
    return depression(
        reading_pa=reading_pa,
        scale=gauge_class(instrument.class_percent, instrument.span_pa),
        resolution=declared.gauge_step(instrument),
        zero=declared.gauge_zero(case, instrument),
        height=declared.gauge_place(instrument),
        density_kg_per_m3=_density(case),
        height_m=height,
    )


def difference_of(
    case: Case,
    without: Sequence[Instrument | None],
    with_kit: Sequence[Instrument | None],
    difference_pa: float,
    runs_each: int,
) -> Measurand | None:
    """
    Describe a difference of depressions of the case.

    Parameters
    ----------
    case : Case
        With its runs' zeros.
    without, with_kit : sequence of Instrument or None
        Gauges that the runs without and with the kit were read on.
    difference_pa : float
        Difference. [Pa]
    runs_each : int
        Runs of each. [-]

    Returns
    -------
    Measurand or None
        Of one gauge, or of two where they differ; None when a class or span is not declared.
    """
    known = [each for each in (*without, *with_kit) if each is not None]
    if not known or any(each.span_pa is None or each.class_percent is None for each in known):
        return None
    classes = {
        each.id: gauge_class(each.class_percent or 0.0, each.span_pa or 0.0) for each in known
    }
    # The coarsest of several stands for all.
    widest = max(known, key=lambda each: classes[each.id].size)
    zero, again = declared.gauge_zero(case, widest), declared.gauge_placed_again(widest)
    if len({each.id for each in known}) == 1:
        return depression_difference(
            difference_pa=difference_pa,
            slope=limit(
                (widest.class_percent or 0.0) / 100.0, "class, taken as the error of the slope"
            ),
            resolution=declared.gauge_step(widest),
            zero=zero,
            height=again,
            density_kg_per_m3=_density(case),
            runs_each=max(runs_each, 1),
        )
    ends = [
        max((classes[each.id] for each in side if each is not None), key=lambda d: d.size)
        for side in (without, with_kit)
    ]
    return depression_between_gauges(
        difference_pa=difference_pa,
        scale_without=ends[0],
        scale_with=ends[1],
        resolution=declared.gauge_step(widest),
        zero=zero,
        height=declared.gauge_place(widest),
        density_kg_per_m3=_density(case),
    )


def added_depression_of(case: Case, pair: Pair) -> Measurand | None:
    """
    Describe the depression that a kit adds, on the gauges that its runs were read on.

    Parameters
    ----------
    case : Case
        The case.
    pair : Pair
        The runs.

    Returns
    -------
    Measurand or None
        None when a gauge's class or span is not declared.
    """
    means = [
        [run.depression_mean_pa for run in side if run.depression_mean_pa is not None]
        for side in (pair.without, pair.with_kit)
    ]
    if all(means):
        difference = math.fsum(means[1]) / len(means[1]) - math.fsum(means[0]) / len(means[0])
    else:
        either = means[0] or means[1] or [0.0]
        difference = TYPICAL_SHARE * math.fsum(either) / len(either)
    sides = [
        _gauges(case, [pair.records[run.number] for run in side])
        for side in (pair.without, pair.with_kit)
    ]
    # A side without a run is asked about as if read on the same gauge.
    own: list[Instrument | None] = [gauge(case)]
    without, with_kit = (list(side) or own for side in sides)
    counts = [len(each) for each in means if each]
    return difference_of(case, without, with_kit, difference, min(counts, default=1))


def power_loss_of(case: Case, pair: Pair) -> Measurand:
    """
    Describe the loss of wheel power with a kit.

    Parameters
    ----------
    case : Case
        The case.
    pair : Pair
        The runs.

    Returns
    -------
    Measurand
        In log-percent; of no loss where power was not measured.
    """
    means = [
        [run.power_loss_log_percent for run in side if run.power_loss_log_percent is not None]
        for side in (pair.without, pair.with_kit)
    ]
    loss = 0.0
    if all(means):
        loss = math.fsum(means[1]) / len(means[1]) - math.fsum(means[0]) / len(means[0])
    return power_difference(
        loss_percent=loss, torque=declared.torque(case), drift=declared.drift(case)
    )


def scatter_of(case: Case, measure: Measure, variance_factor: float) -> float | None:
    """
    Give what the declared repeatability makes of a result.

    Parameters
    ----------
    case : Case
        With its repeatability.
    measure : Measure
        Of which.
    variance_factor : float
        Variance of the result over that of one run. [-]

    Returns
    -------
    float or None
        Standard uncertainty; None where none is declared or nothing was run. Unit of the measure.
    """
    found = case.repeatability.get(measure)
    if found is None or not math.isfinite(variance_factor):
        return None
    return found.standard_deviation * math.sqrt(variance_factor)


def _reads_inlet(instrument: Instrument) -> bool:
    """Say whether an instrument reads the pump inlet."""
    return any(each.channel in declared.INLET_CHANNELS for each in instrument.channels)


def _gauges(case: Case, runs: Sequence[Run]) -> list[Instrument]:
    """List the gauges that runs were read on."""
    ids = dict.fromkeys(log.instrument for run in runs for log in run.logs)
    return [case.instruments[each] for each in ids if _reads_inlet(case.instruments[each])]


def _density(case: Case) -> float:
    """Give the density of the fuel in the gauge line."""
    return case.fuels[case.reference.fuel].density_15c_kg_per_m3

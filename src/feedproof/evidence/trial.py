"""
What a kit is judged from: its reduced runs beside the baseline's, and the records behind them.

Runs are compared inside one session only.  Where several sessions hold both configurations, each
is judged by itself and the least favourable answer stands: pooling would need the sessions'
differences to be known, choosing one would let somebody choose the answer.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from feedproof.case.margin import Margins, Repeatability
from feedproof.case.outcome import Answer
from feedproof.case.run import Role, Run
from feedproof.core.errors import InputError
from feedproof.evidence.archive import archive_of
from feedproof.evidence.comparison import Comparison, compare
from feedproof.evidence.looks import confidence_of
from feedproof.evidence.reduced import ReducedRun

BASELINE = "baseline"
SERIAL_UNKNOWN_TAG = "factory_element_not_recorded"
SETUP_UNDECLARED_TAG = "replumbing_scatter_not_declared"
LARGEST_AIR_DIFFERENCE_PA = 2000.0
"""Air pressure moves an engine's power by about as many percent as itself: the project's rule."""
LEAST_FAVOURABLE_FIRST = (
    Answer.LOSS_BEYOND,
    Answer.LOSS_UNSETTLED,
    Answer.CANNOT_TELL,
    Answer.SMALL_LOSS,
    Answer.NO_LOSS_WITHIN,
)

Figure = Callable[[ReducedRun], float | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """
    The runs of one configuration and of the baseline.

    Parameters
    ----------
    configuration : str
        Kits joined by ``+``.
    reduced : tuple of ReducedRun
        Reduced runs; those of other configurations are passed over.
    records : tuple of Run
        The runs as recorded, one for each reduced run at least.
    margins : Margins
        As agreed.
    factory_elements : tuple of str
        Part ids of the factory line's elements, which must be the same ones throughout.
    candidate_role : Role
        What the candidate's runs are for; ``control`` judges a positive control.
    """

    configuration: str
    reduced: tuple[ReducedRun, ...]
    records: tuple[Run, ...]
    margins: Margins
    factory_elements: tuple[str, ...] = ()
    candidate_role: Role = Role.COMPARE

    def __post_init__(self) -> None:
        """Refuse reduced runs without a record and a baseline judged against itself."""
        known = {record.number for record in self.records}
        lost = sorted(run.number for run in self.reduced if run.number not in known)
        if lost:
            raise InputError.at(f"runs {lost}", "reduced runs without a record of the run")
        if self.configuration == BASELINE:
            raise InputError.at(BASELINE, "the baseline cannot be judged against itself")

    @property
    def confidence(self) -> float:
        """Give the one-sided confidence of each limit, by the looks that were declared."""
        return confidence_of(self.margins.looks)

    def record(self, number: int) -> Run:
        """Give the record of a run."""
        return next(record for record in self.records if record.number == number)

    def is_candidate(self, run: ReducedRun) -> bool:
        """Say whether a run is one of the candidate's."""
        return run.configuration == self.configuration

    def counted(self) -> tuple[ReducedRun, ...]:
        """Give the runs that count, in the order driven: right configuration and role, kept in."""
        chosen = [
            run
            for run in self.reduced
            if not self.record(run.number).excluded
            and (
                (run.configuration == BASELINE and run.role is Role.COMPARE)
                or (self.is_candidate(run) and run.role is self.candidate_role)
            )
        ]
        return tuple(sorted(chosen, key=lambda run: (run.session, run.position, run.number)))

    def sessions(self, figure: Figure) -> tuple[tuple[ReducedRun, ...], ...]:
        """Give, for each session that holds both, the runs that have the figure."""
        usable = [run for run in self.counted() if figure(run) is not None]
        groups: dict[str, list[ReducedRun]] = {}
        for run in usable:
            groups.setdefault(run.session, []).append(run)
        return tuple(
            tuple(runs)
            for runs in groups.values()
            if len({self.is_candidate(run) for run in runs}) == 2
        )

    def compare(
        self,
        runs: tuple[ReducedRun, ...],
        figure: Figure,
        repeatability: Repeatability | None,
        *,
        type_b_u: float,
        margin: float | None,
    ) -> Comparison:
        """Compare one session's runs by a figure, with what was declared about it."""
        return compare(
            np.array([figure(run) for run in runs], dtype=np.float64),
            np.array([self.is_candidate(run) for run in runs]),
            np.array([run.position for run in runs], dtype=np.float64),
            [run.setup for run in runs],
            archive=archive_of(repeatability),
            setup_sd=repeatability.setup_standard_deviation if repeatability else 0.0,
            drift_per_run=repeatability.drift_per_run if repeatability else None,
            drift_bound_per_run=repeatability.drift_bound_per_run if repeatability else None,
            type_b_u=type_b_u,
            margin=margin,
            confidence=self.confidence,
        )

    def used(self, runs: tuple[ReducedRun, ...]) -> dict[str, tuple[int, ...]]:
        """Give the run numbers by configuration."""
        return {
            name: tuple(run.number for run in runs if run.configuration == name)
            for name in (BASELINE, self.configuration)
        }


def void_reason(trial: Trial) -> str:
    """
    Say why the agreed margins do not bind, or nothing.

    Parameters
    ----------
    trial : Trial
        Excluded runs, warm-ups and runs of every other role count: whoever saw them had seen
        the kit's figures.

    Returns
    -------
    str
        One sentence, empty when the margins were declared before the first run of the kit.
    """
    declared = trial.margins.declared
    if declared is None:
        return (
            "The margins as they stand were never declared in the journal, or were changed after."
        )
    started = [r.started for r in trial.records if r.configuration == trial.configuration]
    # A clock without offset cannot be set against one with: nothing then shows that the margin
    # came first.
    if any((s.tzinfo is None) != (declared.tzinfo is None) for s in started):
        return "The margin's date and the runs' cannot be compared: one has no time zone."
    if started and declared >= min(started):
        return (
            f"The margin was declared on {declared:%Y-%m-%d %H:%M}, not before the first run"
            f" with the kit ({min(started):%Y-%m-%d %H:%M})."
        )
    return ""


def refusal_reason(trial: Trial, runs: tuple[ReducedRun, ...]) -> str:
    """
    Say why baseline and candidate may not be compared, or nothing.

    Parameters
    ----------
    trial : Trial
        With the ids of the factory elements.
    runs : tuple of ReducedRun
        The runs that would be compared.

    Returns
    -------
    str
        One sentence, empty when the same factory elements served throughout.
    """
    for part in trial.factory_elements:
        serials = sorted(
            {s for run in runs if (s := trial.record(run.number).elements.get(part, ""))}
        )
        if len(serials) > 1:
            return (
                f"The factory element {part} was not the same one in all runs"
                f" ({', '.join(serials)}): its own restriction would be taken for the kit's."
            )
    return ""


def serial_tags(trial: Trial, runs: tuple[ReducedRun, ...]) -> tuple[str, ...]:
    """
    Tag a comparison in which nothing shows that one factory element served throughout.

    Parameters
    ----------
    trial : Trial
        With the ids of the factory elements.
    runs : tuple of ReducedRun
        The runs that are compared.

    Returns
    -------
    tuple of str
        One tag, or none.
    """
    unknown = any(
        not trial.record(run.number).elements.get(part, "")
        for part in trial.factory_elements
        for run in runs
    )
    return (SERIAL_UNKNOWN_TAG,) if unknown else ()


def setup_tags(
    trial: Trial, runs: tuple[ReducedRun, ...], repeatability: Repeatability | None
) -> tuple[str, ...]:
    """
    Tag a comparison across an opened line whose scatter nobody declared.

    Parameters
    ----------
    trial : Trial
        The trial.
    runs : tuple of ReducedRun
        The runs that are compared.
    repeatability : Repeatability or None
        As declared for the measure.

    Returns
    -------
    tuple of str
        One tag, or none: where baseline and kit ran in the same plumbing, every run in its own, or
        the scatter of opening it is declared.
    """
    names = [run.setup for run in runs]
    kit, bare = (
        {run.setup for run in runs if trial.is_candidate(run) is wanted} for wanted in (True, False)
    )
    declared = repeatability is not None and repeatability.setup_standard_deviation > 0.0
    # Opened before every run, the scatter of it is in the runs as they differ.
    each_its_own = len(set(names)) == len(names)
    return () if kit == bare or declared or each_its_own else (SETUP_UNDECLARED_TAG,)


def air_reason(trial: Trial, runs: tuple[ReducedRun, ...]) -> str:
    """
    Say why the air of baseline and candidate is too unlike for a comparison of power.

    Parameters
    ----------
    trial : Trial
        The trial.
    runs : tuple of ReducedRun
        Runs of one session.

    Returns
    -------
    str
        One sentence, empty when the air was alike.
    """
    means = [
        float(np.mean([trial.record(run.number).ambient_pressure_abs_pa for run in group]))
        for group in (
            [run for run in runs if trial.is_candidate(run)],
            [run for run in runs if not trial.is_candidate(run)],
        )
    ]
    apart = abs(means[0] - means[1])
    if apart <= LARGEST_AIR_DIFFERENCE_PA:
        return ""
    return (
        f"The air pressure of baseline and kit runs differs by {apart / 1e3:.1f} kPa, more than"
        f" {LARGEST_AIR_DIFFERENCE_PA / 1e3:.0f} kPa: power cannot be compared."
    )


def notes_on_runs(trial: Trial, runs: tuple[ReducedRun, ...]) -> tuple[str, ...]:
    """
    Say which runs were left out and what was not recorded.

    Parameters
    ----------
    trial : Trial
        The trial.
    runs : tuple of ReducedRun
        The runs that are compared.

    Returns
    -------
    tuple of str
        Sentences.
    """
    notes = [
        f"Run {record.number} was left out: {record.excluded.rstrip('.')}."
        for record in trial.records
        if record.excluded and record.configuration in (BASELINE, trial.configuration)
    ]
    used = {run.number for run in runs}
    sessions = {run.session for run in runs}
    unusable = [
        run.number for run in trial.counted() if run.number not in used and run.session in sessions
    ]
    if unusable:
        numbers = ", ".join(map(str, sorted(unusable)))
        notes.append(f"Without a usable figure here: runs {numbers}.")
    for part in trial.factory_elements:
        if any(not trial.record(run.number).elements.get(part, "") for run in runs):
            notes.append(f"The serial of the factory element {part} was not recorded every time.")
    return tuple(notes)

"""
Cases with something planted in their runs, from the demonstration's own truth, as files.

The generator's laws are not the package's (viscosity by Vogel, friction by Swamee and Jain, a line
that is tighter than the description says), so that the truth does not come from the solver that is
tested.  All data are invented.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from feedproof.records.demo_case import assemble_case
from feedproof.records.folder import CaseFolder
from feedproof.scenario.make_logs import cell_log, logger_log, run_table, true_effects
from feedproof.scenario.true_runs import PlannedRun, plan_runs

HEAD = Path(__file__).parents[2] / "src" / "feedproof" / "scenario" / "vehicle.toml"
DECLARED = datetime(2026, 9, 7, 8, 0, tzinfo=UTC)
SEED = 1

Change = Callable[[PlannedRun], PlannedRun]


def quiet(run: PlannedRun) -> PlannedRun:
    """Take the scatter from run to run away, so that what is left is what was planted."""
    return replace(
        run,
        power_percent=0.0,
        tilt_percent=0.0,
        return_percent=0.0,
        depression_kpa=0.0,
        fault="",
    )


def planted_case(
    target: Path,
    change: Change,
    *,
    session: str = "secondary",
    head: Callable[[str], str] = str,
    logger: Callable[[PlannedRun, str], str] = lambda _, text: text,
    cell: Callable[[PlannedRun, str], str] = lambda _, text: text,
    table: Callable[[PlannedRun, str], str] = lambda _, text: text,
    keep: Callable[[PlannedRun], bool] = lambda _: True,
    declared: datetime = DECLARED,
) -> CaseFolder:
    """
    Lay out a case folder with one session of the demonstration, changed.

    ``change`` moves a run's conditions or scatter, ``logger``, ``cell`` and ``table`` rewrite the
    text of its logs and of its table, ``head`` that of the description.
    """
    runs = [change(run) for run in plan_runs(SEED) if run.session.name == session and keep(run)]
    logs = target.parent / f"{target.name}-logs"
    logs.mkdir()
    tables = []
    for run in runs:
        of_cell = logs / f"run{run.number:02d}_cell.csv"
        of_cell.write_text(cell(run, cell_log(run, SEED)), encoding="utf-8", newline="\n")
        text = logger(run, logger_log(run, SEED))
        path = logs / f"run{run.number:02d}_logger.csv"
        path.write_bytes(text.encode("cp1252"))
        tables.append(table(run, run_table(run, SEED)))
    return assemble_case(
        target,
        head=head(HEAD.read_text(encoding="utf-8")),
        runs="\n".join(tables),
        logs=logs,
        declared=declared,
    )


def true_added_pa(letter: str) -> float:
    """Give the added depression at the reference conditions, mean over the band."""
    return 1e3 * true_effects(letter)["added_depression_kpa"]


def true_return_loss(letter: str) -> float:
    """Give the loss of the caught return at the reference conditions in log-percent."""
    return true_effects(letter)["caught_return_loss_log_percent"]

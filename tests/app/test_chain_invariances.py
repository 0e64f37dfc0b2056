"""
What does not matter changes nothing that is printed, from the log files to the words.

Units of the logs and of the document, the order of columns, of files and of runs: the same test
written down in another way.  Factors are exact by definition (NIST SP 811): 1 mile is 1609.344 m,
1 inHg (0 degC) 3386.389 Pa as listed there, 1 psi 0.45359237 kg x 9.80665 m/s2 over 0.0254 m
squared.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from feedproof.app import api
from feedproof.case.margin import Measure
from feedproof.scenario.true_runs import PlannedRun
from tests.app.conftest import outcome_of
from tests.app.planted import planted_case

Rewrite = Callable[[PlannedRun, str], str]
PA_PER_PSI = 0.45359237 * 9.80665 / 0.0254**2
PA_PER_INHG = 3386.389


def few(run: PlannedRun) -> bool:
    """Keep the warm-up, two baseline runs and two with the kit."""
    return run.number <= 5


def as_it_is(run: PlannedRun) -> PlannedRun:
    return run


def printed(target: Path, **changes: object) -> str:
    """Lay a case out, judge it, and give everything that is said to both readers."""
    planted_case(target, as_it_is, keep=few, **changes)  # type: ignore[arg-type]
    proof = api.prove(target)
    both = (api.words_of(target, proof, reader=reader) for reader in ("engineer", "customer"))
    return "\n".join(both)


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Give the words of the case as it is."""
    return printed(tmp_path_factory.mktemp("plain") / "case")


def logger_column(place: int, unit: str, convert: Callable[[float], float]) -> Rewrite:
    """Rewrite one column of the pressure log in another unit, to twelve digits."""

    def rewrite(_: PlannedRun, text: str) -> str:
        rows = [row.split(";") for row in text.split("\r\n")]
        for number, cells in enumerate(rows):
            if len(cells) <= place or number == 0:
                continue
            if number == 1:
                cells[place] = unit
            elif cells[place]:
                value = convert(float(cells[place].replace(",", ".")))
                cells[place] = f"{value:.12g}".replace(".", ",")
        return "\r\n".join(";".join(cells) for cells in rows)

    return rewrite


def cell_column(place: int, factor: float) -> Rewrite:
    """Rewrite one column of the roller's log in another unit, to twelve digits."""

    def rewrite(_: PlannedRun, text: str) -> str:
        head, names, body = text.partition("Time,Roller speed")
        first, *rows = body.split("\n")
        cells = [row.split(",") for row in rows]
        for row in cells:
            if len(row) > place:
                row[place] = f"{float(row[place]) * factor:.12g}"
        return head + names + "\n".join([first, *(",".join(row) for row in cells)])

    return rewrite


def columns_turned_round(_: PlannedRun, text: str) -> str:
    """Write the columns of the pressure log from the last to the first."""
    rows = (row.split(";") for row in text.split("\r\n"))
    return "\r\n".join(";".join(reversed(cells)) for cells in rows)


def in_millilitres(_: PlannedRun, text: str) -> str:
    """Write caught volumes in mL and air pressures in mbar."""
    text, volumes = re.subn(
        r'"([\d.]+) L"', lambda found: f'"{float(found[1]) * 1000:.12g} mL"', text
    )
    text, pressures = re.subn(
        r'pressure_abs = "([\d.]+) kPa"',
        lambda found: f'pressure_abs = "{float(found[1]) * 10:.12g} mbar"',
        text,
    )
    assert volumes or "warm_up" in text
    assert pressures
    return text


def logs_swapped(_: PlannedRun, text: str) -> str:
    """Name the logger's file before the roller's."""
    found = re.search(r"logs = \[(.*?)\}\s*,\s*(\{.*?\})\s*,?\s*\]", text, re.DOTALL)
    assert found
    swapped = f"logs = [ {found[2]}, {found[1].strip()} }} ]"
    return text[: found.start()] + swapped + text[found.end() :]


@pytest.mark.parametrize(
    ("unit", "pa_per_unit"), [("psi", PA_PER_PSI), ("inHg", PA_PER_INHG), ("bar", 1e5)]
)
def test_the_unit_of_the_depression_in_the_logs_changes_no_word(
    tmp_path: Path, plain: str, unit: str, pa_per_unit: float
) -> None:
    rewrite = logger_column(2, unit, lambda kpa: kpa * 1000.0 / pa_per_unit)
    assert printed(tmp_path / "case", logger=rewrite) == plain


@pytest.mark.parametrize(("unit", "factor"), [("mph", 1.0 / 1.609344), ("m/s", 1.0 / 3.6)])
def test_the_unit_of_road_speed_changes_no_word(
    tmp_path: Path, plain: str, unit: str, factor: float
) -> None:
    def head(text: str) -> str:
        changed = text.replace(
            '{ column = "Roller speed", unit = "km/h" }',
            f'{{ column = "Roller speed", unit = "{unit}" }}',
        )
        assert changed != text
        return changed

    assert printed(tmp_path / "case", cell=cell_column(1, factor), head=head) == plain


def test_the_units_of_the_document_change_no_word(tmp_path: Path, plain: str) -> None:
    assert printed(tmp_path / "case", table=in_millilitres) == plain


def test_the_order_of_the_columns_changes_no_word(tmp_path: Path, plain: str) -> None:
    assert printed(tmp_path / "case", logger=columns_turned_round) == plain


def test_the_order_of_the_files_changes_no_word(tmp_path: Path, plain: str) -> None:
    assert printed(tmp_path / "case", table=logs_swapped) == plain


def test_the_order_of_the_runs_in_the_document_changes_no_word(tmp_path: Path, plain: str) -> None:
    target = tmp_path / "case"
    planted_case(target, as_it_is, keep=few)
    path = target / "case.toml"
    head, *runs = re.split(r"^(?=\[\[run\]\]$)", path.read_text(encoding="utf-8"), flags=re.M)
    assert len(runs) > 3
    ends = [run.rstrip("\n") + "\n\n" for run in reversed(runs)]
    path.write_text(head + "".join(ends), encoding="utf-8", newline="\n")
    proof = api.prove(target)
    both = (api.words_of(target, proof, reader=reader) for reader in ("engineer", "customer"))
    assert "\n".join(both) == plain


def test_a_word_does_change_when_the_kit_adds_more(tmp_path: Path, plain: str) -> None:
    """The comparison of words is no comparison of nothing."""
    rewrite = logger_column(2, "kPa", lambda kpa: kpa)
    assert printed(tmp_path / "same", logger=rewrite) == plain

    def more(run: PlannedRun, text: str) -> str:
        added = 0.5 if run.letter == "B" else 0.0
        return logger_column(2, "kPa", lambda kpa: kpa + added)(run, text)

    assert printed(tmp_path / "more", logger=more) != plain


def test_a_constant_bias_of_the_gauge_changes_no_difference(tmp_path: Path) -> None:
    """The bias stands in the zeros too where they are read, and in neither where they are not."""
    added = []
    for bias_kpa in (0.0, 0.5):
        rewrite = logger_column(2, "kPa", lambda kpa, by=bias_kpa: kpa + by)
        target = tmp_path / f"bias-{bias_kpa}"
        planted_case(target, lambda run: replace(run, fault=""), keep=few, logger=rewrite)
        outcome = outcome_of(api.prove(target), "secondary", Measure.INLET_DEPRESSION)
        added.append((outcome.estimate, outcome.upper - outcome.lower))
    assert added[1] == pytest.approx(added[0], abs=0.1)

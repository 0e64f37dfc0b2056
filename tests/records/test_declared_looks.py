"""Looks and the headline measure are part of the margins, and dated with them."""

from dataclasses import replace
from pathlib import Path

import pytest

from feedproof.case.margin import Margins, Measure
from feedproof.core.errors import InputError
from feedproof.records.folder import CaseFolder
from feedproof.records.reading import margins_digest
from feedproof.records.template import new_case


def with_margins(tmp_path: Path, lines: str) -> CaseFolder:
    folder = new_case(tmp_path / "case")
    document = folder.path / "case.toml"
    text = document.read_text(encoding="utf-8")
    document.write_text(text.replace("[margins]\n", f"[margins]\n{lines}\n"), encoding="utf-8")
    return folder


def test_looks_and_the_headline_measure_are_read(tmp_path: Path) -> None:
    folder = with_margins(tmp_path, 'looks = [2, 3, 5]\nprimary = "caught_return"')
    margins = folder.load().case.margins

    assert margins.looks == (2, 3, 5)
    assert margins.primary is Measure.CAUGHT_RETURN


def test_without_them_there_is_one_look_and_wheel_power_headlines(tmp_path: Path) -> None:
    margins = new_case(tmp_path / "case").load().case.margins

    assert margins.looks == ()
    assert margins.primary is Measure.WHEEL_POWER


@pytest.mark.parametrize("lines", ["looks = [3, 2]", "looks = [2, 2]"])
def test_looks_that_do_not_rise_are_named(tmp_path: Path, lines: str) -> None:
    with pytest.raises(InputError, match="does not rise"):
        with_margins(tmp_path, lines).load()


@pytest.mark.parametrize(
    "lines",
    ["looks = [0]", "looks = [1, 2, 3, 4, 5]", 'looks = ["two"]', 'primary = "rail_pressure"'],
)
def test_looks_and_measures_that_cannot_be_are_refused(tmp_path: Path, lines: str) -> None:
    with pytest.raises(InputError):
        with_margins(tmp_path, lines).load()


def test_a_declaration_belongs_to_its_looks_and_an_old_one_keeps_its_digest() -> None:
    """The digest of margins without looks is that of the packaged demonstration's journal."""
    plain = Margins()

    assert margins_digest(plain) == "8e3b7ee1f268982e"
    assert margins_digest(replace(plain, looks=(2, 3))) != margins_digest(plain)
    assert margins_digest(replace(plain, primary=Measure.CAUGHT_RETURN)) != margins_digest(plain)


def test_margins_declared_before_looks_were_added_are_no_longer_declared(tmp_path: Path) -> None:
    folder = new_case(tmp_path / "case")
    folder.declare_margins(who="somebody", source="agreed")
    document = folder.path / "case.toml"
    text = document.read_text(encoding="utf-8")

    assert folder.load().case.margins.declared is not None
    document.write_text(text.replace("[margins]\n", "[margins]\nlooks = [2, 3]\n"), "utf-8")
    assert folder.load().case.margins.declared is None
    folder.declare_margins(who="somebody", source="agreed anew")
    assert folder.load().case.margins.declared is not None
    assert folder.journal.read()[0][-1].data["looks"] == [2, 3]


def test_a_hard_bound_on_drift_is_read_in_the_measures_own_scale(tmp_path: Path) -> None:
    folder = with_margins(tmp_path, "")
    document = folder.path / "case.toml"
    text = document.read_text(encoding="utf-8")
    text = text.replace(
        "[repeatability.wheel_power]\n",
        '[repeatability.wheel_power]\ndrift_bound_per_run = "0.3 %"\n',
    )
    document.write_text(text, encoding="utf-8")
    declared = folder.load().case.repeatability[Measure.WHEEL_POWER]

    assert declared.drift_bound_per_run == pytest.approx(0.3)

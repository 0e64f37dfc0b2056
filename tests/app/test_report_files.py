"""A report is written over nothing but the same case's own report as it was written."""

from dataclasses import replace
from pathlib import Path

import pytest

from feedproof.app import api
from feedproof.app.cli import main
from feedproof.app.report_files import PAGE, PAPER, check_place, write_report
from feedproof.core.errors import WriteError
from feedproof.records.folder import CaseFolder
from feedproof.report.seal import Seal, seal_of, sealed

DOCUMENT = "<html><head><title>x</title></head><body>0.7 %</body></html>"
SEAL = Seal(title='A "truck" & more', vehicle="van", journal="", result="ab", paper_sha256="")
JOURNALS = ("1" * 64, "2" * 64)


def test_a_seal_is_read_back_as_it_was_put() -> None:
    assert seal_of(sealed(DOCUMENT, SEAL)) == SEAL
    assert seal_of(DOCUMENT) is None


@pytest.mark.parametrize(
    ("changed", "new"), [("0.7 %", "0.1 %"), ("&quot;van&quot;", "&quot;"), ("</body>", " </body>")]
)
def test_a_page_that_was_changed_has_no_seal(changed: str, new: str) -> None:
    page = sealed(DOCUMENT, SEAL)
    assert changed in page
    assert seal_of(page.replace(changed, new)) is None


def test_one_case_is_told_by_its_journal_and_before_that_by_its_names() -> None:
    first, second = (replace(SEAL, journal=journal) for journal in JOURNALS)
    assert not first.same_case(second)
    assert first.same_case(replace(first, title="another title", result="cd"))
    assert SEAL.same_case(first)
    assert not SEAL.same_case(replace(first, vehicle="truck"))


def test_the_same_case_writes_over_its_own_report(tmp_path: Path) -> None:
    for paper in (b"one", b"two"):
        check_place(tmp_path, SEAL)
        write_report(tmp_path, DOCUMENT, paper, SEAL)
    assert (tmp_path / PAPER).read_bytes() == b"two"


def _foreign(folder: Path) -> None:
    write_report(folder, DOCUMENT, b"paper", replace(SEAL, title="another"))


def _edited(folder: Path) -> None:
    write_report(folder, DOCUMENT, b"paper", SEAL)
    page = folder / PAGE
    page.write_text(page.read_text().replace("0.7", "0.1"))


def _edited_paper(folder: Path) -> None:
    write_report(folder, DOCUMENT, b"paper", SEAL)
    (folder / PAPER).write_bytes(b"annotated")


def _lone_paper(folder: Path) -> None:
    (folder / PAPER).write_bytes(b"a PDF")


def _no_text(folder: Path) -> None:
    (folder / PAGE).write_bytes(b"\xff\xfe\x00")


def _a_folder(folder: Path) -> None:
    (folder / PAGE).mkdir()


@pytest.mark.parametrize(
    "make", [_foreign, _edited, _edited_paper, _lone_paper, _no_text, _a_folder]
)
def test_what_is_not_the_cases_own_is_refused_with_what_to_do(make, tmp_path: Path) -> None:
    make(tmp_path)
    with pytest.raises(WriteError, match="is there already") as fault:
        check_place(tmp_path, SEAL)
    assert "--force" in str(fault.value)
    assert "--out" in str(fault.value)


def test_publish_leaves_another_file_alone_until_forced(tmp_path: Path, capsys) -> None:
    """Without runs, so that only predictions are printed: the rule is the same."""
    folder = tmp_path / "case"
    api.new(folder)
    out = tmp_path / "out"
    words = ["publish", str(folder), "--out", str(out)]
    out.mkdir()
    (out / PAGE).write_text("my notes")

    assert main(words) == 4
    assert "report.html: is there already" in capsys.readouterr().err
    assert (out / PAGE).read_text() == "my notes"
    assert not list(CaseFolder(folder).results.path.glob("*"))

    assert main([*words, "--force"]) == 0
    assert main(words) == 0
    seal = seal_of((out / PAGE).read_text())
    assert seal is not None
    assert seal.result == CaseFolder(folder).results.of_kind("prediction")[-1]


def test_a_page_whose_pdf_was_not_written_any_more_is_still_the_case_s_own(tmp_path: Path) -> None:
    """A process that dies between its two files leaves the new page beside the old PDF."""
    old, new = b"%PDF old", b"%PDF new"
    write_report(tmp_path, DOCUMENT, old, SEAL)
    write_report(tmp_path, DOCUMENT, new, SEAL)
    paper = tmp_path / "report.pdf"

    paper.write_bytes(old)
    check_place(tmp_path, SEAL)
    paper.write_bytes(b"%PDF of somebody else")
    with pytest.raises(WriteError, match="is there already"):
        check_place(tmp_path, SEAL)

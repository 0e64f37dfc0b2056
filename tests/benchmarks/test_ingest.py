"""The benchmark of large logs compares all numbers before it tells a time."""

from pathlib import Path

import pytest

from benchmarks import ingest
from benchmarks.measure import Report


@pytest.mark.parametrize("form", ingest.FORMS)
def test_all_sides_read_the_same_sums_in_little_memory(form: str, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    ingest.generate(path, form, size_bytes=1_000_000)
    report = Report()

    ingest.compare(report, form, path, repeats=1)

    table = [line.split("|") for line in report.lines if line.startswith("|")]
    # One block of rows is 8 MB; the program itself takes most of what is measured.
    assert 20 < float(table[2][-3]) < 400
    assert "agree exactly" in "".join(report.lines)


def test_other_numbers_stop_the_benchmark(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    sums = iter([1.0, 1.0, 2.0])
    told = {"seconds": 1.0, "peak_mb": 1.0}
    monkeypatch.setattr(ingest, "_child", lambda *_: {**told, "sums": [next(sums)]})

    with pytest.raises(RuntimeError, match="read other numbers"):
        ingest.compare(Report(), "point", tmp_path / "log.csv", repeats=1)

"""Raw logs are hashed and copied piece by piece, whole or not at all, under their own hash."""

import hashlib
from pathlib import Path

import pytest

from feedproof.core.errors import InputError
from feedproof.records import raw
from feedproof.records.raw import RawLogs, hash_of_file
from feedproof.records.verifying import verify_folder
from tests.records.documents import LOG, case_folder, run_table

CONTENT = bytes(range(256)) * 9000


def test_a_log_is_never_held_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    source = tmp_path / "log.csv"
    source.write_bytes(CONTENT)

    def whole(self: Path) -> bytes:
        raise AssertionError(f"{self.name} was read whole")

    logs = RawLogs(tmp_path / "raw")
    with monkeypatch.context() as patched:
        patched.setattr(Path, "read_bytes", whole)
        kept = logs.add(source, "cell")
        assert logs.fault(kept) == ""
        assert hash_of_file(source) == kept.sha256

    assert kept.sha256 == hashlib.sha256(CONTENT).hexdigest()
    assert logs.path_of(kept).read_bytes() == CONTENT


def test_a_log_that_changes_while_it_is_copied_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source = tmp_path / "log.csv"
    source.write_bytes(CONTENT)

    def then_changed(path: Path) -> str:
        found = hash_of_file(path)
        path.write_bytes(CONTENT[:-1])
        return found

    monkeypatch.setattr(raw, "hash_of_file", then_changed)

    with pytest.raises(InputError, match="changed while it was read"):
        RawLogs(tmp_path / "raw").add(source, "cell")

    assert [each for each in (tmp_path / "raw").rglob("*") if each.is_file()] == []


@pytest.mark.parametrize(
    "name", ["channels-0123456789abcdef.parquet", "Channels-0" + "A" * 15 + ".JSON"]
)
def test_a_log_named_as_a_channel_file_is_refused_and_leaves_nothing(
    tmp_path: Path, name: str
) -> None:
    source = tmp_path / name
    source.write_bytes(CONTENT)

    with pytest.raises(InputError, match="Rename the file"):
        RawLogs(tmp_path / "raw").add(source, "cell")

    assert not (tmp_path / "raw").exists()
    source.rename(tmp_path / "channels-0123.parquet")
    assert RawLogs(tmp_path / "raw").add(tmp_path / "channels-0123.parquet", "cell").name


def test_a_run_with_such_a_log_adds_nothing_at_all(tmp_path: Path) -> None:
    case = case_folder(tmp_path)
    before = (case.path / "case.toml").read_bytes()
    good, bad = tmp_path / "good.csv", tmp_path / "channels-0123456789abcdef.json"
    good.write_bytes(LOG)
    bad.write_bytes(LOG)

    with pytest.raises(InputError, match="Rename the file"):
        case.add_run(run_table(), {"logger": good, "cell": bad})

    assert (case.path / "case.toml").read_bytes() == before
    assert not [each for each in (case.path / "raw").rglob("*") if each.is_file()]


def test_a_raw_log_of_an_older_case_named_as_a_channel_file_is_still_hashed(tmp_path: Path) -> None:
    case = case_folder(tmp_path)
    log = tmp_path / "cell.csv"
    log.write_bytes(LOG)
    run = case.add_run(run_table(), {"cell": log})
    name = "channels-0123456789abcdef.json"
    kept = case.raw(run.logs[0])
    renamed = kept.rename(kept.with_name(name))
    document = case.path / "case.toml"
    document.write_text(document.read_text("utf-8").replace("cell.csv", name), "utf-8")
    assert verify_folder(case, lambda _: None).raw == 1

    renamed.write_bytes(LOG[:-1])

    assert "was changed" in str(verify_folder(case, lambda _: None).findings)

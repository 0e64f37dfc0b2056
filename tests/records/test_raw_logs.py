"""Raw logs are hashed and copied piece by piece, whole or not at all, under their own hash."""

import hashlib
from pathlib import Path

import pytest

from feedproof.core.errors import InputError
from feedproof.records import raw
from feedproof.records.raw import RawLogs, hash_of_file

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

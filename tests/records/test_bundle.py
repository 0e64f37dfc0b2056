"""
Bundles.

Promised: what comes out is what went in, byte for byte; the same folder gives the same bytes;
nothing leaves its folder, nothing half unpacked stays; a changed or foreign zip is refused.
"""

import hashlib
import json
import stat
import zipfile
from pathlib import Path

import pytest

from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.records import bundle
from feedproof.records.bundle import MANIFEST, read_bundle, write_bundle
from tests.records.documents import LOG, case_folder, contents_of, run_table


@pytest.fixture
def case(tmp_path: Path) -> Path:
    """Give a case with a run and a result."""
    folder = case_folder(tmp_path)
    log = tmp_path / "run01_cell.csv"
    log.write_bytes(LOG)
    folder.add_run(run_table(), {"cell": log})
    folder.results.write("proof", {"loss": 1.5}, {"verb": "prove"})
    return folder.path


def forged(file: Path, entries: list[tuple[zipfile.ZipInfo | str, bytes]]) -> Path:
    """Write a zip that is sealed and listed as a bundle, whatever is in it."""
    listed = {
        getattr(name, "filename", name): {
            "sha256": hashlib.sha256(content).hexdigest(),
            "bytes": len(content),
        }
        for name, content in entries
    }
    about = {"format": "feedproof-bundle", "version": 1, "files": listed}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in entries:
            archive.writestr(name, content)
        archive.writestr(MANIFEST, json.dumps(about))
        archive.comment = b"sha256:" + b"0" * 64
    body = file.read_bytes()[:-64]
    file.write_bytes(body + hashlib.sha256(body).hexdigest().encode())
    return file


def visible(folder: Path) -> dict[str, bytes]:
    """Give the files that are not hidden."""
    return {
        name: content
        for name, content in contents_of(folder).items()
        if not any(part.startswith(".") for part in Path(name).parts)
    }


def test_what_comes_out_is_what_went_in(case: Path, tmp_path: Path) -> None:
    write_bundle(case, tmp_path / "a.zip")
    read_bundle(tmp_path / "a.zip", tmp_path / "there")

    assert visible(tmp_path / "there") == visible(case)
    assert len(visible(case)) == 4


def test_the_same_folder_gives_the_same_bytes(case: Path, tmp_path: Path) -> None:
    write_bundle(case, tmp_path / "a.zip")
    read_bundle(tmp_path / "a.zip", tmp_path / "there")
    write_bundle(tmp_path / "there", tmp_path / "b.zip")

    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "b.zip").read_bytes()


def test_a_bundle_is_a_plain_zip(case: Path, tmp_path: Path) -> None:
    write_bundle(case, tmp_path / "a.zip")
    with zipfile.ZipFile(tmp_path / "a.zip") as archive:
        assert archive.testzip() is None
        assert archive.read("case.toml") == (case / "case.toml").read_bytes()


def _link() -> zipfile.ZipInfo:
    """Describe a symbolic link."""
    entry = zipfile.ZipInfo("raw/link")
    entry.external_attr = (stat.S_IFLNK | 0o777) << 16
    return entry


@pytest.mark.parametrize(
    ("entries", "told"),
    [
        ([("../out.txt", b"x")], "begins with a dot"),
        ([("raw/../../out.txt", b"x")], "begins with a dot"),
        ([("/out.txt", b"x")], "is empty"),
        ([("C:/out.txt", b"x")], "leads to another folder"),
        ([("raw\\out.txt", b"x")], "leads to another folder"),
        ([("raw/nul", b"x")], "device"),
        ([("raw/A.csv", b"x"), ("raw/a.csv", b"y")], "upper and lower case"),
        ([("raw/\u00e9", b"x"), ("raw/e\u0301", b"y")], "upper and lower case"),
        ([(_link(), b"/etc/passwd")], "no plain file"),
        ([("raw/", b"")], "is empty"),
        ([("notes.txt", b"x")], "no case.toml"),
        ([("case.toml", b"0" * 5000)], "more than 1000 bytes"),
    ],
)
def test_what_may_not_be_unpacked_is_refused_and_leaves_nothing(
    entries: list[tuple[zipfile.ZipInfo | str, bytes]], told: str, tmp_path: Path
) -> None:
    inner = tmp_path / "inner"
    inner.mkdir()
    bundle = forged(tmp_path / "bad.zip", entries)
    with pytest.raises(InputError, match=told):
        read_bundle(bundle, inner / "case", largest_bytes=1000)

    assert list(inner.iterdir()) == []
    assert not (tmp_path / "out.txt").exists()


def test_a_size_that_is_understated_stops_while_streaming(tmp_path: Path) -> None:
    bundle = forged(tmp_path / "bad.zip", [("case.toml", b"0" * 5000)])
    body = bundle.read_bytes()[:-64].replace(
        (5000).to_bytes(4, "little"), (10).to_bytes(4, "little")
    )
    bundle.write_bytes(body + hashlib.sha256(body).hexdigest().encode())

    with pytest.raises(InputError):
        read_bundle(bundle, tmp_path / "case", largest_bytes=1000)
    assert sorted(each.name for each in tmp_path.iterdir()) == ["bad.zip"]


def test_a_file_that_is_not_what_the_manifest_says_is_named(tmp_path: Path) -> None:
    bundle = forged(tmp_path / "bad.zip", [("case.toml", b"one")])
    with zipfile.ZipFile(bundle) as archive:
        manifest = archive.read(MANIFEST)
    with zipfile.ZipFile(bundle, "w") as archive:
        archive.writestr("case.toml", b"two")
        archive.writestr(MANIFEST, manifest)
        archive.comment = b"sha256:" + b"0" * 64
    body = bundle.read_bytes()[:-64]
    bundle.write_bytes(body + hashlib.sha256(body).hexdigest().encode())

    with pytest.raises(InputError, match=r"case.toml: is missing or not what"):
        read_bundle(bundle, tmp_path / "case")


@pytest.mark.parametrize("content", [b"", b"PK", b"x" * 500])
def test_what_is_no_bundle_is_refused(content: bytes, tmp_path: Path) -> None:
    (tmp_path / "a.zip").write_bytes(content)
    with pytest.raises(InputError, match="no bundle"):
        read_bundle(tmp_path / "a.zip", tmp_path / "case")


def test_nothing_is_written_over(case: Path, tmp_path: Path) -> None:
    write_bundle(case, tmp_path / "a.zip")
    with pytest.raises(WriteError, match="is there already"):
        write_bundle(case, tmp_path / "a.zip")
    with pytest.raises(WriteError, match="is there already"):
        read_bundle(tmp_path / "a.zip", case)
    with pytest.raises(MissingError):
        read_bundle(tmp_path / "none.zip", tmp_path / "there")


def test_a_bundle_that_is_interrupted_leaves_nothing(
    case: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(bundle, "_write", interrupted)
    (tmp_path / "out").mkdir()
    with pytest.raises(KeyboardInterrupt):
        bundle.write_bundle(case, tmp_path / "out" / "case.zip")
    assert list((tmp_path / "out").iterdir()) == []


def test_a_link_in_the_folder_is_not_followed(case: Path, tmp_path: Path) -> None:
    (case / "raw" / "link").symlink_to(tmp_path / "secret")
    (tmp_path / "secret").write_text("secret")

    with pytest.raises(InputError, match="is a link"):
        write_bundle(case, tmp_path / "a.zip")
    assert not (tmp_path / "a.zip").exists()

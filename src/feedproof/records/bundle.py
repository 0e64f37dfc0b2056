"""
Bundles: a case folder as one plain zip, for another workshop.

The same folder gives the same bytes: names sorted, one fixed time, no system's own fields.  A
manifest holds the SHA-256 of every file, and the archive's comment that of all bytes before its
last 64, so that a changed byte is found wherever it stands.  What comes in is unpacked beside its
place and renamed when every hash was right.
"""

import hashlib
import json
import os
import shutil
import stat
import struct
import tempfile
import unicodedata
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.core.findings import Finding, error
from feedproof.records.durable import sync_folder, whole_file
from feedproof.records.names import name_fault

FORMAT, VERSION = "feedproof-bundle", 1
MANIFEST = "MANIFEST.json"
LARGEST_BYTES = 4_000_000_000
"""Most that a bundle may unpack to."""
_MOST_FILES = 100_000
_TIME = (1980, 1, 1, 0, 0, 0)
_SEAL = b"sha256:"
_CHUNK_BYTES = 1 << 20
_HASH_DIGITS = 64
# What the library raises of a damaged archive; OSError, where an offset points before the file.
_DAMAGE = (
    *(zipfile.BadZipFile, zlib.error, struct.error, NotImplementedError),
    *(EOFError, ValueError, RuntimeError, OSError),
)


def write_bundle(folder: Path, target: Path) -> int:
    """
    Write a case folder as a bundle.

    Parameters
    ----------
    folder : Path
        Of the case; hidden files are left out.
    target : Path
        The zip; it must not exist yet.

    Returns
    -------
    int
        Files in it.

    Raises
    ------
    InputError
        Names that not every machine can hold, or links.
    WriteError
        It is there already, or cannot be written.
    """
    if target.exists():
        raise WriteError.at(str(target), "is there already.", "Name another file.")
    files = _files_of(folder)
    faults = [error(name, f"{fault}.", "Rename it.") for name in files if (fault := _fault(name))]
    faults += [
        error(name, "is a link.", "Copy it in.") for name, f in files.items() if f.is_symlink()
    ]
    if faults:
        raise InputError(faults)
    with whole_file(target) as file:
        _write(file, files)
    return len(files)


def _files_of(folder: Path) -> dict[str, Path]:
    """List the files of a folder by their names in the bundle, sorted."""
    found = {}
    for top, inner, names in os.walk(folder):
        inner[:] = [each for each in inner if not each.startswith(".")]
        for name in names:
            file = Path(top) / name
            if not name.startswith("."):
                found[file.relative_to(folder).as_posix()] = file
    return dict(sorted(found.items()))


def _write(file: Any, files: Mapping[str, Path]) -> None:
    """Write the archive, then its seal."""
    manifest: dict[str, dict[str, Any]] = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for name, path in files.items():
            digest, size = hashlib.sha256(), 0
            with (
                path.open("rb") as source,
                archive.open(_entry(name), "w", force_zip64=True) as out,
            ):
                while chunk := source.read(_CHUNK_BYTES):
                    digest.update(chunk)
                    size += len(chunk)
                    out.write(chunk)
            manifest[name] = {"sha256": digest.hexdigest(), "bytes": size}
        about = {"format": FORMAT, "version": VERSION, "files": manifest}
        text = json.dumps(about, sort_keys=True, indent=1, ensure_ascii=False)
        archive.writestr(_entry(MANIFEST), text.encode())
        archive.comment = _SEAL + b"0" * _HASH_DIGITS
    end = file.seek(0, os.SEEK_END) - _HASH_DIGITS
    seal = _hash_of_first(file, end).encode()
    file.seek(end)
    file.write(seal)


def _entry(name: str) -> zipfile.ZipInfo:
    """Describe one file without anything of the machine."""
    entry = zipfile.ZipInfo(name, _TIME)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.create_system = 3
    entry.external_attr = (stat.S_IFREG | 0o644) << 16
    return entry


def _hash_of_first(file: Any, size: int) -> str:
    """Hash the first bytes of a file."""
    file.seek(0)
    digest = hashlib.sha256()
    while size > 0:
        chunk = file.read(min(size, _CHUNK_BYTES))
        if not chunk:
            break
        digest.update(chunk)
        size -= len(chunk)
    return digest.hexdigest()


def read_bundle(bundle: Path, target: Path, largest_bytes: int = LARGEST_BYTES) -> int:
    """
    Unpack a bundle.

    Parameters
    ----------
    bundle : Path
        The zip.
    target : Path
        Folder to make; it must not exist yet.
    largest_bytes : int
        Most that it may unpack to.

    Returns
    -------
    int
        Files in it.

    Raises
    ------
    MissingError
        There is no such file.
    InputError
        It is no bundle, was changed, or holds what may not be unpacked; nothing was written.
    WriteError
        Something is in the place already, or there is no space.
    """
    if not bundle.is_file():
        raise MissingError.at(str(bundle), "there is no such file.", "Check the path.")
    if target.exists():
        raise WriteError.at(str(target), "is there already.", "Name a folder that does not exist.")
    _check_seal(bundle)
    try:
        with zipfile.ZipFile(bundle) as archive:
            _check_entries(bundle, archive.infolist(), largest_bytes)
            return _unpack_beside(bundle, archive, target, largest_bytes)
    except _DAMAGE as fault:
        raise _damaged(bundle, f"cannot be unpacked: {fault}") from fault


def _damaged(bundle: Path, words: str) -> InputError:
    """Refuse a bundle."""
    return InputError([error(bundle.name, f"{words}.", "Ask for the bundle again.")])


def _check_seal(bundle: Path) -> None:
    """Hash the whole file against its own last bytes."""
    with bundle.open("rb") as file:
        size = file.seek(0, os.SEEK_END)
        file.seek(max(size - _HASH_DIGITS - len(_SEAL), 0))
        end = file.read()
        if not end.startswith(_SEAL) or len(end) != _HASH_DIGITS + len(_SEAL):
            raise _damaged(bundle, "is no bundle, or its end was changed")
        if _hash_of_first(file, size - _HASH_DIGITS).encode() != end[len(_SEAL) :]:
            raise _damaged(bundle, "was changed after it was written: its hash is another")


def _fault(name: str) -> str:
    """Say what is wrong with a name inside a bundle."""
    parts = name.split("/")
    return next((fault for part in parts if (fault := name_fault(part))), "")


def _check_entries(bundle: Path, entries: list[zipfile.ZipInfo], largest_bytes: int) -> None:
    """Refuse names, links and sizes before anything is unpacked, all at once."""
    faults = list(_entry_faults(bundle, entries))
    if sum(entry.file_size for entry in entries) > largest_bytes:
        faults.append(error(bundle.name, f"unpacks to more than {largest_bytes} bytes."))
    if len(entries) > _MOST_FILES:
        faults.append(error(bundle.name, f"holds more than {_MOST_FILES} files."))
    if faults:
        raise InputError(faults)


def _entry_faults(bundle: Path, entries: list[zipfile.ZipInfo]) -> Iterator[Finding]:
    """Find entries that may not be unpacked."""
    seen: set[str] = set()
    for entry in entries:
        place = f"{bundle.name}: {entry.filename!r}"
        mode = entry.external_attr >> 16
        same = unicodedata.normalize("NFC", entry.filename).casefold()
        # A zero byte ends the name for the library, which keeps what stood there before.
        if fault := _fault(entry.orig_filename):
            yield error(place, f"{fault}.")
        elif same in seen:
            yield error(place, "differs from another name in upper and lower case only.")
        elif stat.S_IFMT(mode) not in (0, stat.S_IFREG):
            yield error(place, "is no plain file.")
        elif entry.flag_bits & 1:
            yield error(place, "is encrypted.")
        seen.add(same)


def _unpack_beside(bundle: Path, archive: zipfile.ZipFile, target: Path, largest_bytes: int) -> int:
    """Unpack into a hidden folder beside the place, and rename it when all is right."""
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        holder = Path(tempfile.mkdtemp(dir=target.parent, prefix=f".{target.name}-"))
    except OSError as fault:
        raise _no_room(target, fault) from fault
    try:
        made = holder / "case"
        made.mkdir()
        hashes = _unpack(bundle, archive, made, largest_bytes)
        _check_manifest(bundle, made, hashes)
        (made / MANIFEST).unlink()
        for top, _, _ in os.walk(made):
            sync_folder(Path(top))
        made.rename(target)
        sync_folder(target.parent)
    except OSError as fault:
        raise _no_room(target, fault) from fault
    finally:
        shutil.rmtree(holder, ignore_errors=True)
    return len(hashes) - 1


def _no_room(target: Path, fault: OSError) -> WriteError:
    """Say that nothing could be written."""
    words = f"could not be written: {fault.strerror or fault}."
    return WriteError([error(str(target), words, "Free some space or name another folder.")])


def _unpack(
    bundle: Path, archive: zipfile.ZipFile, made: Path, largest_bytes: int
) -> dict[str, tuple[str, int]]:
    """Stream every entry to disk, counting the bytes that really come."""
    left = largest_bytes
    hashes = {}
    for entry in archive.infolist():
        path = made / entry.filename
        path.parent.mkdir(parents=True, exist_ok=True)
        digest, size = hashlib.sha256(), 0
        with path.open("xb") as out:
            for chunk in _chunks(bundle, archive, entry):
                size += len(chunk)
                left -= len(chunk)
                # The library stops at the stated size, which was summed before; should it ever not.
                if left < 0:
                    raise _damaged(bundle, f"unpacks to more than {largest_bytes} bytes")
                digest.update(chunk)
                out.write(chunk)
            out.flush()
            os.fsync(out.fileno())
        hashes[entry.filename] = (digest.hexdigest(), size)
    return hashes


def _chunks(bundle: Path, archive: zipfile.ZipFile, entry: zipfile.ZipInfo) -> Iterator[bytes]:
    """Unpack one entry; a fault of reading must not be taken for one of writing."""
    try:
        with archive.open(entry) as source:
            while chunk := source.read(_CHUNK_BYTES):
                yield chunk
    except _DAMAGE as fault:
        raise _damaged(bundle, f"cannot be unpacked: {entry.filename!r}, {fault}") from fault


def _check_manifest(bundle: Path, made: Path, hashes: dict[str, tuple[str, int]]) -> None:
    """Hold what was unpacked against the manifest."""
    try:
        about = json.loads((made / MANIFEST).read_bytes())
        listed = {name: (each["sha256"], each["bytes"]) for name, each in about["files"].items()}
        known = about["format"] == FORMAT and about["version"] <= VERSION
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as fault:
        raise _damaged(bundle, f"has no {MANIFEST} that can be read") from fault
    if not known:
        raise InputError.at(bundle.name, "was written by a newer feedproof.", "Update feedproof.")
    found = {name: each for name, each in hashes.items() if name != MANIFEST}
    names = sorted({*listed, *found})
    wrong = [name for name in names if listed.get(name) != found.get(name)]
    if wrong:
        raise InputError(
            [
                error(f"{bundle.name}: {n}", "is missing or not what the manifest says.")
                for n in wrong
            ]
        )
    if "case.toml" not in found:
        raise _damaged(bundle, "holds no case.toml")

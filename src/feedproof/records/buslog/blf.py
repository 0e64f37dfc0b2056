"""Bus logs in the binary form BLF, through python-can."""

import struct
import zlib
from pathlib import Path

from feedproof.core.errors import InputError
from feedproof.records.buslog.frames import BusLog

NEEDED = 'python -m pip install "feedproof[bus]"'
_REMEDY = "Save it anew from the recorder's program, or export it as ASC."


def read_blf(path: Path, log: BusLog) -> None:
    """
    Read a binary log.

    Parameters
    ----------
    path : Path
        The file.
    log : BusLog
        Takes the frames.

    Raises
    ------
    InputError
        The file is damaged, or python-can is not installed.
    """
    try:
        from can.io.blf import BLFParseError, BLFReader
    except ImportError as fault:
        raise InputError.at("file", "a BLF log needs python-can.", f"Run: {NEEDED}") from fault
    damage = (
        BLFParseError,
        struct.error,
        zlib.error,
        ValueError,
        IndexError,
        OverflowError,
        EOFError,
    )
    before = 0
    try:
        with BLFReader(path) as reader:
            announced = int(reader.object_count)
            start = float(reader.start_timestamp)
            size = int(reader.file_size)
            for message in reader:
                before += 1
                if message.is_error_frame:
                    log.errors += 1
                elif message.is_remote_frame:
                    log.remotes += 1
                else:
                    log.add(
                        message.timestamp,
                        f"channel {message.channel}",
                        message.arbitration_id,
                        message.is_extended_id,
                        bytes(message.data),
                        0,
                    )
    except InputError:
        raise
    except damage as fault:
        raise InputError.at(
            f"frame {before + 1}",
            f"the file is damaged or cut here ({type(fault).__name__}: {str(fault)[:100]}).",
            _REMEDY,
        ) from fault
    if before == 0:
        raise InputError.at("file", "holds no frame of a CAN bus.", _REMEDY)
    held = path.stat().st_size
    if held < size:
        log.warnings.append(
            f"the header announces {size} bytes and the file has {held}: its end is missing"
        )
    elif announced > before:
        log.warnings.append(
            f"the header announces {announced} objects and {before} are frames: the others are of"
            " other kinds, or damaged"
        )
    if start > 0.0:
        log.notes.append(f"times are the recorder's; its clock began at {start:.6f} s of 1970 UTC")

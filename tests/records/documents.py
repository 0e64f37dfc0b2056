"""Documents for the tests of this room: an invented vehicle, with runs that tests add."""

import hashlib
from datetime import UTC, datetime
from pathlib import Path

from feedproof.core.findings import Finding, Level
from feedproof.records.folder import CaseFolder
from feedproof.records.reading import Reading, read_case

VEHICLE = Path(__file__).with_name("vehicle.toml").read_text(encoding="utf-8")


def _branched() -> str:
    """Put the branched lines, and all else that a chain does without, into the vehicle."""
    parts = Path(__file__).with_name("branched_parts.toml").read_text(encoding="utf-8")
    start, end = VEHICLE.index("# The factory feed line"), VEHICLE.index("[[kit]]")
    text = f"{VEHICLE[:start]}{parts}\n{VEHICLE[end:]}"
    for right, more in (
        (
            'distance_to_pump = "2.6 m"',
            'cap_valve = { value = "2 kPa", low = "10 mbar", high = "3 kPa", source = "invented" }',
        ),
        ('lubrication = "16 L/h"', 'gas_release_time = "1500 ms"'),
        (
            'fuel_temperature = "35 degC"',
            'tank_fuel_temperature = "86 degF"\nreturn_fuel_temperature = "333.15 K"',
        ),
    ):
        assert right in text, right
        text = text.replace(right, f"{right}\n{more}", 1)
    return text


BRANCHED = _branched()
"""The vehicle with branches, a lift pump, a soft hose, a leak, a cooler, a tee, return led back."""
LOG = b"Time,Engine\n0.0,1500\n0.1,1510\n"


def run_text(index: int = 1, **changes: str) -> str:
    """Write a run as the document holds it; a change replaces or adds a line by its key."""
    lines = {
        "number": str(index),
        "kits": "[]",
        "session": '"day"',
        "started": f"2026-09-14T09:{index:02d}:00+02:00",
        "role": '"compare"',
        "setup": '"loop-1"',
        "fuel": '"summer"',
        "ambient": '{ pressure_abs = "91 kPa", temperature = "19 degC", humidity = "52 %" }',
        "fuel_level": '"58 %"',
        "logs": f'[ {{ file = "a.csv", sha256 = "{digest(index)}", instrument = "cell" }} ]',
        **changes,
    }
    return "\n[[run]]\n" + "".join(f"{key} = {value}\n" for key, value in lines.items())


def digest(number: int) -> str:
    """Give a hash that is nobody's."""
    return hashlib.sha256(str(number).encode()).hexdigest()


def run_table(number: int = 1) -> dict[str, object]:
    """Give a run as a program adds it, without logs."""
    return {
        "number": number,
        "kits": ["secondary"],
        "session": "day",
        "started": datetime(2026, 9, 14, 7, number, tzinfo=UTC),
        "role": "compare",
        "setup": "loop-1",
        "fuel": "summer",
        "ambient": {"pressure_abs": "91 kPa", "temperature": "19 degC", "humidity": "52 %"},
        "fuel_level": "58 %",
    }


def reading_of(text: str, folder: Path) -> Reading:
    """Read a text as the document of a case."""
    path = folder / "case.toml"
    path.write_bytes(text.encode("utf-8"))
    return read_case(path)


def errors_of(reading: Reading) -> list[Finding]:
    """Give the errors of a reading."""
    return [finding for finding in reading.findings if finding.level is Level.ERROR]


def case_folder(folder: Path, text: str = VEHICLE) -> CaseFolder:
    """Make a case with its margins declared."""
    case = CaseFolder.create(folder / "case", text)
    case.declare_margins(who="tester", source="agreed")
    return case


def contents_of(folder: Path) -> dict[str, bytes]:
    """Give every file of a folder with its bytes; hidden ones hold locks only."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.startswith(".")
    }

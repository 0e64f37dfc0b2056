"""House rule: the bill of materials and the list of licences are those of the lock."""

import json
import re

from tests.house.tree import ROOT
from tools.make_bom import BOM, LICENCES, LOCK, NOT_STATED, locked

LOCKED = locked(LOCK.read_text(encoding="utf-8"))
PAIRS = sorted((name, version) for name, version, _ in LOCKED)


def test_every_entry_of_the_lock_is_understood() -> None:
    lines = [line for line in LOCK.read_text(encoding="utf-8").splitlines() if line[:1].isalnum()]

    assert len(LOCKED) == len(lines) > 20


def test_the_bill_of_materials_holds_what_the_lock_holds() -> None:
    parts = json.loads(BOM.read_text(encoding="utf-8"))["components"]

    assert sorted((part["name"], part["version"]) for part in parts) == PAIRS, "dev.py bom"


def test_the_bill_of_materials_holds_the_hashes_of_the_lock() -> None:
    hashes = re.findall(r"sha256:([0-9a-f]{64})", LOCK.read_text(encoding="utf-8"))
    parts = json.loads(BOM.read_text(encoding="utf-8"))["components"]
    listed = [
        each["value"]
        for part in parts
        for each in part["properties"]
        if each["name"] == "feedproof:file-sha256"
    ]

    assert sorted(listed) == sorted(hashes), "dev.py bom"


def test_the_list_of_licences_holds_what_the_lock_holds() -> None:
    text = LICENCES.read_text(encoding="utf-8")
    rows = [line.split(" | ") for line in text.splitlines() if line.startswith("| ")][1:]

    assert sorted((row[0].removeprefix("| "), row[1]) for row in rows) == PAIRS, "dev.py bom"
    assert NOT_STATED not in text


def test_neither_holds_an_address_a_time_or_a_serial_number() -> None:
    for file in (BOM, LICENCES):
        text = file.read_text(encoding="utf-8")
        found = re.findall(r"https?://[^\s\"]+", text)

        assert not [each for each in found if "cyclonedx.org/schema" not in each]
        assert "serialNumber" not in text
        assert '"timestamp"' not in text
    assert (ROOT / "docs") in BOM.parents

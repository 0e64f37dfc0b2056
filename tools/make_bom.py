"""
Write the bill of materials and the list of licences of what is installed to run.

Run by ``python3 dev.py bom``; the same lock and environment give the same bytes.
"""

import importlib.metadata
import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
LOCK = ROOT / "requirements.lock"
BOM = ROOT / "docs" / "bom.cdx.json"
LICENCES = ROOT / "docs" / "licences.md"

_CLASSIFIED = {
    "MIT License": "MIT",
    "BSD License": "BSD",
    "Apache Software License": "Apache-2.0",
    "Mozilla Public License 2.0 (MPL 2.0)": "MPL-2.0",
}
_SHARE_ALIKE = re.compile(r"\b[AL]?GPL|\bMPL|\bEPL|\bCDDL|GNU (?:Lesser )?General Public")
NOT_STATED = "not stated"
# What a package does not state in its metadata, and where it is stated; empty while all state it.
BY_HAND: dict[str, tuple[str, str]] = {}


def locked(text: str) -> list[tuple[str, str, str]]:
    """
    List what a lock holds.

    Parameters
    ----------
    text : str
        Of the lock.

    Returns
    -------
    list of tuple
        Name, version and marker; the marker is empty where it holds everywhere.
    """
    lines = re.findall(r"^([A-Za-z0-9._-]+)==([^\s;\\]+)(?: ; ([^\\\n]+?))? *\\?$", text, re.M)
    return [(name, version, marker) for name, version, marker in lines]


def bill() -> dict[str, Any]:
    """
    Make the bill of materials from the lock, without addresses, times and serial numbers.

    Returns
    -------
    dict
        A CycloneDX document.
    """
    command = [sys.executable, "-m", "cyclonedx_py", "requirements", str(LOCK)]
    options = ["--output-reproducible", "--spec-version", "1.6", "--output-format", "JSON"]
    made = subprocess.run([*command, *options], capture_output=True, check=True).stdout
    document: dict[str, Any] = json.loads(made)
    renamed = {}
    markers = {(name, version): marker for name, version, marker in locked(LOCK.read_text("utf-8"))}
    for part in document["components"]:
        references = part.pop("externalReferences", [])
        hashes = [each["content"] for reference in references for each in reference["hashes"]]
        renamed[part["bom-ref"]] = part["purl"]
        part["bom-ref"] = part["purl"]
        part.pop("description", None)
        # Of each file that may be installed; a hash of the part itself there is none.
        part["properties"] = [{"name": "feedproof:file-sha256", "value": h} for h in sorted(hashes)]
        if marker := markers[part["name"], part["version"]]:
            part["properties"].append({"name": "feedproof:marker", "value": marker})
    document["components"].sort(key=lambda part: part["purl"])
    document["dependencies"] = [{"ref": ref} for ref in sorted(renamed.values())]
    document["metadata"].pop("tools", None)
    document["metadata"]["component"] = {"type": "application", "name": "feedproof"}
    return document


def licence_of(name: str) -> tuple[str, str]:
    """
    Read the licence of an installed package.

    Parameters
    ----------
    name : str
        Of the package.

    Returns
    -------
    tuple of str
        The licence, and where that is stated.
    """
    found = importlib.metadata.metadata(name)
    if stated := found.get("License-Expression"):
        return str(stated), "expression"
    text = str(found.get("License") or "")
    if text and "\n" not in text and len(text) < 40:
        return text, "licence field"
    classified = [
        _CLASSIFIED.get(each.rsplit(" :: ", 1)[-1], each.rsplit(" :: ", 1)[-1])
        for each in found.get_all("Classifier", [])
        if each.startswith("License ::")
    ]
    if classified:
        return " AND ".join(sorted(set(classified))), "classifier"
    return BY_HAND.get(name, (NOT_STATED, ""))


def flag_of(name: str, licence: str) -> str:
    """
    Say what needs a look in a licence.

    Parameters
    ----------
    name, licence : str
        Of the package.

    Returns
    -------
    str
        Empty where nothing does.
    """
    if _SHARE_ALIKE.search(licence):
        return "copyleft"
    full = str(importlib.metadata.metadata(name).get("License") or "")
    return "its full text names a copyleft licence for bundled parts" if _SHARE_ALIKE.search(
        full
    ) else ""  # fmt: skip


def licences() -> str:
    """
    Write the list of licences.

    Returns
    -------
    str
        A page.
    """
    lines = [
        "# Licences of what is installed to run",
        "",
        "Written by `python3 dev.py bom` from `requirements.lock` and the metadata that packages",
        "bring; do not edit. The bill of materials is `bom.cdx.json`. Where the lock holds two",
        "versions for different Pythons, the licence is that of the installed one.",
        "",
        "| package | version | licence | stated in | look at |",
        "|---|---|---|---|---|",
    ]
    for name, version, _ in locked(LOCK.read_text("utf-8")):
        licence, where = licence_of(name)
        lines.append(f"| {name} | {version} | {licence} | {where} | {flag_of(name, licence)} |")
    return "\n".join(lines) + "\n"


def main() -> None:
    """Write both files."""
    text = json.dumps(bill(), indent=1, sort_keys=True) + "\n"
    BOM.write_text(text, encoding="utf-8", newline="\n")
    LICENCES.write_text(licences(), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()

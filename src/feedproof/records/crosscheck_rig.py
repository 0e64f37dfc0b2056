"""What two keys of a case say together: the rig and what is taken from its archive."""

from collections.abc import Iterator

from feedproof.core.findings import Finding
from feedproof.records.lineup import Lineup
from feedproof.records.mistakes import Places
from feedproof.records.raw_tables import Table, table, text


def check_rig(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Find a repeatability from the archive in a case that names no rig."""
    del lineup
    if "rig" in document:
        return
    for measure in table(document, "repeatability"):
        source = text(table(document, "repeatability", measure), "source") or ""
        if source.strip().lower() == "archive":
            yield places.error(
                ("repeatability", measure, "source"),
                "the archive is kept by rig and procedure, and the case names neither.",
                "Add [rig] with name and procedure, or write where the figure comes from.",
            )

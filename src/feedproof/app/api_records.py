"""The verbs of learned mappings, and of what was deleted from the database, as functions."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from feedproof.app.learned import known_mapping
from feedproof.app.record_result import DeletedRecord, MappingReport, RecordReport
from feedproof.core.errors import InputError, MissingError
from feedproof.records.journal import require_words
from feedproof.records.store.keeping import DELETABLE, UNDO_DAYS
from feedproof.records.store.kinds import FieldReading, Instrument, Kept, LearnedMapping
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store


def mapping_show(instrument: str = "", *, store: str | Path | None = None) -> MappingReport:
    """
    Give the mappings that were learned.

    Parameters
    ----------
    instrument : str
        Only of this one.
    store : str or Path, optional
        Database.

    Returns
    -------
    MappingReport
        Each with who, when, from what, and the block for a case.
    """
    with Store.open(store) as opened:
        return _mappings(opened, instrument)


def mapping_forget(
    instrument: str,
    *,
    who: str,
    why: str,
    which: str = "",
    store: str | Path | None = None,
) -> MappingReport:
    """
    Forget a mapping that was learned; it can be brought back for 30 days.

    Parameters
    ----------
    instrument : str
        Id of the instrument.
    who, why : str
        Who forgets it, and the reason.
    which : str
        First digits of its hash, where the instrument has more than one.
    store : str or Path, optional
        Database.

    Returns
    -------
    MappingReport
        What stands.

    Raises
    ------
    MissingError
        There is no such mapping.
    InputError
        Nobody stands for it, or there are several.
    """
    require_words({"who": who, "why": why})
    with Store.open(store) as opened:
        found = [
            each
            for each in opened.mappings()
            if each.record.instrument == instrument and each.row.sha256.startswith(which.lower())
        ]
        if not found:
            raise MissingError.at(
                f"instrument {instrument}", "has no such mapping.", "See feedproof mapping show."
            )
        if len(found) > 1:
            listed = ", ".join(each.row.sha256[:8] for each in found)
            raise InputError.at(
                f"instrument {instrument}",
                f"has {len(found)} mappings, one for each header: {listed}.",
                "Say which: --which DIGITS. See feedproof mapping show.",
            )
        row = found[0].row
        opened.delete("mappings", row.subject, Signed(who=who, why=why), seen=row.sha256)
        return _mappings(opened, "")


def instrument_remove(
    identity: str, *, who: str, why: str, store: str | Path | None = None
) -> RecordReport:
    """
    Remove an instrument; it can be brought back for 30 days.

    Parameters
    ----------
    identity : str
        Its name.
    who, why : str
        Who removes it, and the reason.
    store : str or Path, optional
        Database.

    Returns
    -------
    RecordReport
        What can be brought back.

    Raises
    ------
    MissingError
        There is no such instrument.
    InputError
        Nobody stands for it.
    """
    require_words({"who": who, "why": why})
    with Store.open(store) as opened:
        seen = opened.instrument(identity).row.sha256
        opened.delete("instruments", identity, Signed(who=who, why=why), seen=seen)
        return _records(opened, f"instrument {identity} was removed")


def record_show(*, store: str | Path | None = None) -> RecordReport:
    """
    Say what was deleted and can be brought back.

    Parameters
    ----------
    store : str or Path, optional
        Database.

    Returns
    -------
    RecordReport
        Each with the day until which it can be.
    """
    with Store.open(store) as opened:
        return _records(opened, "")


def record_undo(
    kind: str, identity: str, *, who: str, why: str = "", store: str | Path | None = None
) -> RecordReport:
    """
    Bring back what was deleted at most 30 days ago.

    Parameters
    ----------
    kind : str
        ``instruments``, ``mappings`` or ``readings``.
    identity : str
        Its id, or how it begins.
    who, why : str
        Who brings it back, and the reason.
    store : str or Path, optional
        Database.

    Returns
    -------
    RecordReport
        What else can be brought back.

    Raises
    ------
    InputError
        No such kind; several ids begin so; it is not deleted, or was longer ago.
    MissingError
        There is no such record.
    """
    require_words({"who": who})
    if kind not in DELETABLE:
        raise InputError.at(
            "kind", f"{kind!r} is none of {', '.join(DELETABLE)}.", "See feedproof record show."
        )
    with Store.open(store) as opened:
        subjects = [e.row.subject for e in opened.deleted() if e.row.kind == kind]
        found = [each for each in subjects if each == identity] or [
            each for each in subjects if each.startswith(identity) and identity
        ]
        if len(found) > 1:
            raise InputError.at(
                f"{kind} {identity}",
                f"{len(found)} begin so: {', '.join(found)}.",
                "Give more of it.",
            )
        # Of what is not deleted, or was never there, the database says which.
        subject = found[0] if found else identity
        opened.undo(kind, subject, Signed(who=who, why=why))
        return _records(opened, f"{kind} {subject} is back")


def record_purge(*, who: str, why: str, store: str | Path | None = None) -> RecordReport:
    """
    Remove for good what was deleted more than 30 days ago; that it was there stays on record.

    Parameters
    ----------
    who, why : str
        Who purges, and the reason.
    store : str or Path, optional
        Database.

    Returns
    -------
    RecordReport
        How many were purged, and what can still be brought back.

    Raises
    ------
    InputError
        Nobody stands for it.
    WriteError
        Nothing was purged.
    """
    require_words({"who": who, "why": why})
    with Store.open(store) as opened:
        count = opened.purge(Signed(who=who, why=why))
        return _records(opened, f"{count} records were purged")


def _mappings(opened: Store, instrument: str) -> MappingReport:
    """Lay mappings out."""
    found = [e for e in opened.mappings() if instrument in ("", e.record.instrument)]
    return MappingReport(
        format="feedproof-mappings",
        version=1,
        store=opened.name,
        mappings=tuple(known_mapping(each) for each in found),
    )


def _records(opened: Store, did: str) -> RecordReport:
    """Lay out what can be brought back."""
    today = datetime.now(UTC).date().isoformat()
    return RecordReport(
        format="feedproof-records",
        version=1,
        store=opened.name,
        did=did,
        deleted=tuple(
            DeletedRecord(
                kind=each.row.kind,
                id=each.row.subject,
                title=_title(each),
                who=each.row.who,
                at=each.row.at,
                why=each.row.why,
                until=_until(each.row.at),
            )
            for each in opened.deleted()
            if _until(each.row.at) >= today
        ),
    )


def _title(kept: Kept[Any]) -> str:
    """Say in words what a record is."""
    match kept.record:
        case Instrument(title=title):
            return title
        case FieldReading() as reading:
            return f"{reading.depression_text} on {reading.vehicle}, {reading.read_on}"
        case LearnedMapping() as mapping:
            return f"mapping of {mapping.instrument}, {len(mapping.channels)} channels"
    return ""


def _until(deleted: str) -> str:
    """Give the last day for an undo."""
    return (datetime.fromisoformat(deleted) + timedelta(days=UNDO_DAYS)).date().isoformat()

"""The verbs of the database of what crosses cases, as functions."""

from collections.abc import Iterable
from datetime import UTC, date, datetime
from pathlib import Path

from feedproof.app.asking import day_asked
from feedproof.app.learned import PATIENCE_S
from feedproof.app.store_result import (
    CaseInIndex,
    CaseList,
    InstrumentEntry,
    InstrumentReport,
    Reindexed,
)
from feedproof.app.told import Written
from feedproof.core.errors import FeedproofError, InputError, MissingError
from feedproof.core.findings import Finding, warning
from feedproof.records.store.index import read_all
from feedproof.records.store.kinds import IndexedCase, Instrument, Kept
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store


def store_reindex(folder: Path, *, store: str | Path | None = None) -> Reindexed:
    """
    Make the index of the cases below a folder anew.

    Parameters
    ----------
    folder : Path
        Where to look.
    store : str or Path, optional
        Database; see `feedproof.records.store.address`.

    Returns
    -------
    Reindexed
        Every case found, whatever its state.

    Raises
    ------
    MissingError
        There is no such folder.
    WriteError
        Nothing was written.
    """
    with Store.open(store) as opened:
        found, gone = opened.reindex(folder, Signed(who="store reindex"))
        name = opened.name
    return Reindexed(
        format="feedproof-index",
        version=1,
        store=name,
        folder=str(folder),
        cases=tuple(_in_index(each) for each in found),
        gone=gone,
    )


def store_cases(folder: Path | None = None, *, store: str | Path | None = None) -> CaseList:
    """
    Give the cases below a folder as they are now, sparing those that have not changed.

    Parameters
    ----------
    folder : Path, optional
        Where to look; the cases that the index knows when left out.
    store : str or Path, optional
        Database.

    Returns
    -------
    CaseList
        Every case, whatever its state; what the index says is used only where the case's files
        bear it out, and without a database the folders are read.

    Raises
    ------
    MissingError
        There is no such folder.
    """
    signed = Signed(who="store cases")
    if folder is not None and not folder.is_dir():
        raise MissingError.at(str(folder), "there is no such folder.", "Name a folder of cases.")
    told: tuple[Finding, ...] = ()
    try:
        with Store.open(store, patience_s=PATIENCE_S) as opened:
            name = opened.name
            found, anew, gone = opened.cases_now(folder, signed)
    except FeedproofError as fault:
        if folder is None:
            raise
        found, gone, name = read_all(folder, signed), 0, ""
        anew, first = len(found), fault.findings[0]
        told = (
            warning("database", f"no index was used: {first.place} {first.message}", first.remedy),
        )
    return CaseList(
        format="feedproof-cases",
        version=1,
        store=name,
        folder="" if folder is None else str(folder),
        cases=tuple(_in_index(each) for each in found),
        read=anew,
        gone=gone,
        findings=told,
    )


def store_backup(target: Path, *, store: str | Path | None = None) -> Written:
    """
    Copy the database, also while it is in use.

    Parameters
    ----------
    target : Path
        File that does not exist yet.
    store : str or Path, optional
        Database.

    Returns
    -------
    Written
        The copy.

    Raises
    ------
    InputError
        Records of the database are damaged; nothing was written.
    WriteError
        Nothing was written.
    """
    with Store.open(store) as opened:
        if findings := opened.verify():
            raise InputError(findings)
        opened.backup(target)
        name = opened.name
    return Written(
        format="feedproof-written",
        version=1,
        what=f"backup of {name}:",
        paths=(str(target),),
        next_step=f"Back with it: feedproof store restore {target}",
    )


def store_restore(source: Path, *, store: str | Path | None = None) -> Written:
    """
    Put a backup in the place of what the database holds.

    Parameters
    ----------
    source : Path
        A backup of this or an earlier version.
    store : str or Path, optional
        Database.

    Returns
    -------
    Written
        Where what was there before is kept.

    Raises
    ------
    MissingError
        There is no such file.
    InputError
        The backup is damaged or newer; nothing was changed.
    WriteError
        Nothing was changed.
    """
    with Store.open(store) as opened:
        aside = opened.restore(source)
        name = opened.name
    return Written(
        format="feedproof-written",
        version=1,
        what=f"{name} holds what {source} held; what was there before:",
        paths=(str(aside),),
        next_step=f"Back to it: feedproof store restore {aside}",
    )


def instrument_add(
    identity: str,
    *,
    title: str,
    who: str,
    serial: str = "",
    calibrated: str = "",
    due: str = "",
    certificate: str = "",
    replace_because: str = "",
    store: str | Path | None = None,
) -> InstrumentReport:
    """
    Keep an instrument with its calibration, or a correction of it.

    Parameters
    ----------
    identity : str
        Name, as cases use it.
    title, serial : str
        What it is, and its serial number.
    who : str
        Who enters it.
    calibrated, due : str
        Day of the last calibration and of the next, such as ``2026-03-31``.
    certificate : str
        Number of the certificate.
    replace_because : str
        Reason for putting this in the place of the entry that is there.
    store : str or Path, optional
        Database.

    Returns
    -------
    InstrumentReport
        The instrument with its history.

    Raises
    ------
    InputError
        Days that cannot be read or contradict each other.
    WriteError
        It is there already and no reason was given, or nothing could be written.
    """
    faults: list[Finding] = []
    instrument = Instrument(
        id=identity,
        title=title,
        serial=serial,
        calibrated=day_asked("calibrated", calibrated, faults),
        due=day_asked("due", due, faults),
        certificate=certificate,
    )
    if faults:
        raise InputError(faults)
    with Store.open(store) as opened:
        there = {kept.record.id: kept for kept in opened.instruments()}
        if identity in there and not replace_because:
            row = there[identity].row
            raise InputError.at(
                f"instrument {identity}",
                f"is there already, {row.action} by {row.who} at {row.at}.",
                "To put this in its place, give the reason: --replace REASON.",
            )
        seen = there[identity].row.sha256 if identity in there else None
        signed = Signed(who=who, why=replace_because)
        opened.keep_instrument(instrument, signed, seen=seen)
    return instrument_show(identity, store=store)


def instrument_show(
    identity: str | None = None, *, on: str = "", store: str | Path | None = None
) -> InstrumentReport:
    """
    Say which instruments there are and which are out of calibration.

    Parameters
    ----------
    identity : str, optional
        Only this one, with its history.
    on : str
        Day for which calibration is judged; today when left out.
    store : str or Path, optional
        Database.

    Returns
    -------
    InstrumentReport
        Instruments with their calibration.

    Raises
    ------
    MissingError
        There is no such instrument.
    InputError
        The day cannot be read.
    """
    faults: list[Finding] = []
    day = day_asked("on", on, faults) or datetime.now(UTC).astimezone().date()
    if faults:
        raise InputError(faults)
    with Store.open(store) as opened:
        shown = (opened.instrument(identity),) if identity else opened.instruments()
        rows = opened.history("instruments", identity) if identity else ()
        name = opened.name
    return InstrumentReport(
        format="feedproof-instruments",
        version=1,
        store=name,
        on=day.isoformat(),
        instruments=_entries(shown, day),
        history=_entries((each for each in rows if isinstance(each, Kept)), day),
        findings=tuple(
            warning(f"instrument {each.record.id}", f"{fault}.", "Have it calibrated.")
            for each in shown
            if (fault := each.record.fault_on(day))
        ),
    )


def _entries(kept: Iterable[Kept[Instrument]], day: date) -> tuple[InstrumentEntry, ...]:
    """Lay instruments out for a document."""
    return tuple(
        InstrumentEntry(
            id=each.record.id,
            title=each.record.title,
            serial=each.record.serial,
            certificate=each.record.certificate,
            calibrated=str(each.record.calibrated or ""),
            due=str(each.record.due or ""),
            action=each.row.action,
            who=each.row.who,
            at=each.row.at,
            why=each.row.why,
            sha256=each.row.sha256,
            out_of_calibration=each.record.fault_on(day),
        )
        for each in kept
    )


def _in_index(case: IndexedCase) -> CaseInIndex:
    """Lay a case of the index out for a document."""
    return CaseInIndex(
        path=case.path,
        title=case.title,
        vehicle=case.vehicle,
        document_sha256=case.document_sha256,
        kits=tuple(case.kits.split()),
        proof=case.proof,
        answer=case.answer,
        fault=case.fault,
    )

"""The verbs ``archive add``, ``archive show`` and ``archive withdraw`` as functions."""

from dataclasses import replace
from pathlib import Path

from feedproof.app.archive_place import changeable, readable
from feedproof.app.archive_result import ArchiveReport, Opening, Withdrawn
from feedproof.app.logs import load_logs
from feedproof.app.progress import Progress, silent
from feedproof.app.told import Written
from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.core.findings import Finding, warning
from feedproof.evidence.archives.lines import Line, SessionData, standing
from feedproof.evidence.archives.opening import opening_scatter
from feedproof.evidence.archives.pooling import Pool, pools_of
from feedproof.records.archive import ArchiveFile
from feedproof.records.folder import CaseFolder
from feedproof.records.journal import require_words
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store


def archive_add(
    path: Path,
    *,
    file: Path,
    who: str,
    session: str | None = None,
    replace_because: str = "",
    progress: Progress = silent,
) -> Written:
    """
    Add the baseline sessions of a case to an archive.

    Parameters
    ----------
    path : Path
        Folder of the case.
    file : Path
        The archive, which is begun where there is none; ``store`` is the database's.
    who : str
        Who adds them.
    session : str, optional
        Only this session.
    replace_because : str
        Reason for putting the session's figures in the place of those that are there.
    progress : Progress
        Told how far the work is.

    Returns
    -------
    Written
        What was added, and what does not count.

    Raises
    ------
    InputError
        No person is given, the case names no rig, no session has a figure, or all of them are
        there already.
    WriteError
        Nothing was written.
    """
    require_words({"who": who, **({"replace": replace_because} if replace_because else {})})
    if replace_because and session is None:
        raise InputError.at("--replace", "replaces one session.", "Name it: --session NAME.")
    with changeable(file, Signed(who=who, why=replace_because)) as place:
        told = _added(
            path, place, who=who, session=session, because=replace_because, progress=progress
        )
    return _named(told, place, file)


def _added(
    path: Path, file: Path, *, who: str, session: str | None, because: str, progress: Progress
) -> Written:
    """Add the sessions to an archive's file."""
    from feedproof.app.archive_baselines import baselines
    from feedproof.app.proving import reduce_all

    folder = CaseFolder.open(path)
    loaded = folder.load()
    if loaded.case.rig is None:
        baselines(loaded.case, (), loaded.sha256)
    archive = ArchiveFile(file)
    _check_place(file)
    archived = archive.read()
    logs, _ = load_logs(folder, loaded.case, progress)
    reduced = reduce_all(loaded.case, logs, progress)
    sessions, findings = baselines(loaded.case, reduced, loaded.sha256, session)
    if not sessions:
        raise InputError(
            [
                *InputError.at(
                    str(path),
                    "no session has baseline repeats that count.",
                    "Drive three or more baseline runs in one session, with or without a kit"
                    " between them.",
                ).findings,
                *findings,
            ]
        )
    there, new = _parted(sessions, standing(archived.lines))
    if not because and not new:
        archive.add(sessions[0], who=who)  # refuses, naming the line
    told = [*archived.findings, *findings, *_strangers(archived.lines, sessions)]
    added = sessions if because else new
    numbers = [archive.add(each, who=who, replace_because=because).number for each in added]
    if not because:
        told += [_there_already(file, each, line) for each, line in there]
    named = ", ".join(f"{each.session} (line {n})" for each, n in zip(added, numbers, strict=True))
    return Written(
        format="feedproof-written",
        version=1,
        what=f"archived: {named}" if not because else f"replaced: {named}",
        paths=(str(file),),
        next_step=f"What is known now: feedproof archive show --file {file}",
        findings=tuple(told),
    )


def archive_show(file: Path) -> ArchiveReport:
    """
    Say what an archive holds.

    Parameters
    ----------
    file : Path
        The archive.

    Returns
    -------
    ArchiveReport
        Pooled figures by rig, procedure, measure and kind of plumbing.

    Raises
    ------
    InputError, MissingError
        The file is damaged or not there.
    """
    with readable(file) as place:
        assert place is not None
        return _shown(place)


def _shown(file: Path) -> ArchiveReport:
    """Say what an archive's file holds."""
    archived = ArchiveFile(file).load()
    stand = standing(archived.lines)
    pools = pools_of(stand)
    return ArchiveReport(
        format="feedproof-archive-report",
        version=1,
        file=file.name,
        sha256=archived.sha256,
        sessions=len(stand),
        pools=pools,
        openings=_openings(pools),
        withdrawn=_gone(archived.lines),
        findings=(*archived.findings, *_invented(file, stand), *_unlike_pulls(stand)),
    )


def archive_withdraw(file: Path, line: str, *, who: str, reason: str) -> Written:
    """
    Withdraw a session from an archive; its line stays and is no longer counted.

    Parameters
    ----------
    file : Path
        The archive.
    line : str
        Number of its line, or the first eight digits or more of the line's hash.
    who, reason : str
        Who withdraws it and why.

    Returns
    -------
    Written
        What was withdrawn.

    Raises
    ------
    InputError, MissingError, WriteError
        Nothing was written.
    """
    require_words({"who": who, "reason": reason})
    with changeable(file, Signed(who=who, why=reason)) as place:
        gone = ArchiveFile(place).withdraw(line, who=who, reason=reason)
    name = f"{gone.data.case} / {gone.data.session}" if gone.data else ""
    return Written(
        format="feedproof-written",
        version=1,
        what=f"line {gone.number} ({name}) no longer counts: {reason}",
        paths=(str(file),),
        next_step="Tests whose first run with a kit came before this moment keep using it.",
    )


def archive_take_in(file: Path, *, who: str, store: str | Path | None = None) -> Written:
    """
    Take the lines of an archive's file into the database.

    Parameters
    ----------
    file : Path
        The file; it stays as it is.
    who : str
        Who takes it in.
    store : str or Path, optional
        Database.

    Returns
    -------
    Written
        How many lines were new.

    Raises
    ------
    MissingError, InputError
        No such file, a damaged one, or another archive than the one in the database.
    WriteError
        Nothing was written.
    """
    require_words({"who": who})
    with Store.open(store) as opened:
        count = opened.take_in_archive(file, Signed(who=who, why=f"taken in from {file.name}"))
        name = opened.name
    return Written(
        format="feedproof-written",
        version=1,
        what=f"{count} lines of {file.name} were taken in; the archive is now in the database:",
        paths=(name,),
        next_step="Use it: feedproof prove CASE --archive store, or FEEDPROOF_ARCHIVE=store.",
    )


def archive_give_out(file: Path, *, store: str | Path | None = None) -> Written:
    """
    Write the archive in the database as a file, letter by letter.

    Parameters
    ----------
    file : Path
        New, or the beginning of the same archive.
    store : str or Path, optional
        Database.

    Returns
    -------
    Written
        The file.

    Raises
    ------
    MissingError
        The database holds no archive.
    WriteError
        The file holds something else, or nothing could be written.
    """
    with Store.open(store) as opened:
        if not opened.has_archive():
            raise MissingError.at(
                opened.name, "holds no archive.", "Take one in: feedproof archive take-in FILE."
            )
        opened.give_out_archive(file)
    return Written(
        format="feedproof-written",
        version=1,
        what="the archive as it stands in the database, which stays the truth of it:",
        paths=(str(file),),
    )


def _named(told: Written, place: Path, file: Path) -> Written:
    """Name the archive as it was named, not the file that stood for it."""
    return replace(
        told, paths=(str(file),), next_step=told.next_step.replace(str(place), str(file))
    )


def _check_place(file: Path) -> None:
    """Refuse a file that cannot be begun."""
    if not file.parent.is_dir():
        raise WriteError.at(str(file), "its folder does not exist.", "Make it, or name another.")


def _parted(
    sessions: tuple[SessionData, ...], stand: tuple[Line, ...]
) -> tuple[list[tuple[SessionData, Line]], list[SessionData]]:
    """Part the sessions that are in the archive from the new ones."""
    there: list[tuple[SessionData, Line]] = []
    new: list[SessionData] = []
    for session in sessions:
        lines = [each for each in stand if each.data and each.data.shares_runs_with(session.runs)]
        if lines:
            there.append((session, lines[0]))
        else:
            new.append(session)
    return there, new


def _there_already(file: Path, session: SessionData, line: Line) -> Finding:
    """Say that a session was not added again, and whether its figures moved since."""
    same = line.data is not None and line.data.figures == session.figures
    return warning(
        f"session {session.session}",
        f"is there already ({file.name} line {line.number}) and counts once"
        + ("." if same else "; its figures are not what they were when it was added."),
        "" if same else "To take the new ones: --session NAME --replace REASON.",
    )


def _strangers(lines: tuple[Line, ...], sessions: tuple[SessionData, ...]) -> list[Finding]:
    """Say that a rig or procedure is new to the archive: a slip of the pen parts the sessions."""
    known = sorted({(d.rig, d.procedure) for each in standing(lines) if (d := each.data)})
    own = (sessions[0].rig, sessions[0].procedure)
    if not known or own in known:
        return []
    listed = "; ".join(f"{rig}: {procedure}" for rig, procedure in known)
    return [
        warning(
            "rig",
            f"{own[0]}: {own[1]} is new to this archive, which holds: {listed}.",
            "If it is one of these, write it alike and add the case again.",
        )
    ]


def _invented(file: Path, lines: tuple[Line, ...]) -> list[Finding]:
    """Warn of sessions whose case says that its data are invented."""
    marked = [line.number for line in lines if line.data is not None and line.data.invented]
    if not marked:
        return []
    numbers = ", ".join(map(str, marked))
    return [
        warning(
            f"{file.name} lines {numbers}",
            "come from cases that say that their data are INVENTED; they are in the figures.",
            "Withdraw them before the archive serves a real case.",
        )
    ]


def _unlike_pulls(lines: tuple[Line, ...]) -> list[Finding]:
    """Warn of one procedure that was declared with different pulls."""
    pulls: dict[tuple[str, str], set[tuple[float, ...]]] = {}
    for line in lines:
        if line.data is not None:
            data = line.data
            pull = (data.start_m_per_s, data.stop_m_per_s, data.rate_m_per_s2)
            key = (data.rig, data.procedure)
            pulls.setdefault(key, set()).add(tuple(float(f"{each:.6g}") for each in pull))
    return [
        warning(
            f"{rig}: {procedure}",
            f"is declared with {len(found)} different pulls.",
            "Another sweep is another procedure: give it another name.",
        )
        for (rig, procedure), found in pulls.items()
        if len(found) > 1
    ]


def _openings(pools: tuple[Pool, ...]) -> tuple[Opening, ...]:
    """Compare repeats with and without re-plumbing, where both are there."""
    kinds = {(p.rig, p.procedure, p.measure, p.replumbed): p for p in pools}
    found = []
    for (rig, procedure, measure, replumbed), pool in kinds.items():
        plain = kinds.get((rig, procedure, measure, False))
        if not replumbed or plain is None:
            continue
        scatter = opening_scatter(
            pool.standard_deviation,
            pool.degrees_of_freedom,
            plain.standard_deviation,
            plain.degrees_of_freedom,
        )
        found.append(
            Opening(rig=rig, procedure=procedure, measure=measure, unit=pool.unit, scatter=scatter)
        )
    return tuple(found)


def _gone(lines: tuple[Line, ...]) -> tuple[Withdrawn, ...]:
    """List the sessions that no longer count."""
    by_hash = {line.sha256: line for line in lines}
    return tuple(
        Withdrawn(
            line=old.number,
            case=old.data.case,
            session=old.data.session,
            recorded=line.recorded,
            who=line.who,
            why=line.why,
            replaced_by=line.number if line.data else None,
        )
        for line in lines
        if line.instead_of and (old := by_hash[line.instead_of]).data is not None
    )

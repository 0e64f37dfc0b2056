"""Runs that are being added: each a job of its own, in their order, with what was typed kept."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fastapi import Request

from feedproof.app.documents import to_document
from feedproof.app.jobs.record import Job, State
from feedproof.app.web.api.job_routes import jobs_of
from feedproof.app.web.inbox import Inbox
from feedproof.core.errors import MissingError
from feedproof.core.findings import Finding, error


@dataclass(frozen=True, slots=True, kw_only=True)
class Adding:
    """
    Where the runs of a form stand.

    Parameters
    ----------
    done, total : int
        Runs that have ended, and all.
    is_open : bool
        True while something may still come.
    findings : tuple of Finding
        Why some were not added, by run.
    typed : mapping of str to str
        The form, without the runs that were added.
    kits : mapping of str to sequence of str
        Kits ticked, by run.
    """

    done: int
    total: int
    is_open: bool
    findings: tuple[Finding, ...]
    typed: Mapping[str, str]
    kits: Mapping[str, Sequence[str]]


def begin(
    request: Request,
    path: Path,
    inbox: Inbox,
    runs: Sequence[tuple[dict[str, Any], dict[str, Path]]],
    typed: Mapping[str, str],
    kits: Mapping[str, Sequence[str]],
    who: str,
) -> None:
    """
    Put runs in.

    Parameters
    ----------
    request : Request
        The form.
    path : Path
        Folder of the case.
    inbox : Inbox
        Where the logs are.
    runs : sequence of (dict, dict of str to Path)
        Tables and logs, in the order of the form.
    typed, kits : mapping
        What was typed and ticked.
    who : str
        Who adds them.

    Raises
    ------
    InputError, WriteError
        A run that cannot even be put in; those before it are.
    """
    jobs = jobs_of(request)
    endings = [name.removeprefix("take-") for name in typed if name.startswith("take-")]
    endings.sort(key=lambda each: int(each) if each.isdecimal() else 0)
    draft: dict[str, Any] = {"typed": dict(typed), "kits": {k: list(v) for k, v in kits.items()}}
    draft["jobs"] = []
    for ending, (table, logs) in zip(endings, runs, strict=True):
        asked = {
            "run": to_document(table),
            "logs": {name: str(file) for name, file in logs.items()},
            "who": who,
        }
        job = jobs.submit("add_run", path, asked)
        draft["jobs"].append(
            {
                "id": job.id,
                "ending": ending,
                "run": table["number"],
                "keys": [file.parent.name for file in logs.values()],
            }
        )
        # After each one: a server that dies here still knows what it has begun.
        inbox.keep_draft(draft)


def adding_of(request: Request, inbox: Inbox) -> Adding | None:
    """
    Say where the runs of the last form stand; logs of added runs leave the inbox.

    Parameters
    ----------
    request : Request
        Any.
    inbox : Inbox
        Of the case.

    Returns
    -------
    Adding or None
        None where nothing is under way and nothing is left to mend.
    """
    draft = inbox.draft()
    if draft is None:
        return None
    typed, kits = dict(draft.get("typed", {})), dict(draft.get("kits", {}))
    findings: list[Finding] = []
    done, is_open = 0, False
    entries = draft.get("jobs", [])
    for entry in entries:
        job = _job(request, str(entry["id"]))
        if job is not None and not job.state.has_ended:
            is_open = True
            continue
        done += 1
        if job is not None and job.state is State.DONE:
            typed = {k: v for k, v in typed.items() if not k.endswith(f"-{entry['ending']}")}
            for key in entry["keys"]:
                _put_out(inbox, str(key))
        else:
            findings += _why(int(entry["run"]), job)
    if not is_open and not findings:
        inbox.keep_draft(None)
        return None
    return Adding(
        done=done,
        total=len(entries),
        is_open=is_open,
        findings=tuple(findings),
        typed=typed,
        kits=kits,
    )


def stop(request: Request, inbox: Inbox) -> None:
    """
    Stop what has not begun yet; a run that is being written is finished or not there at all.

    Parameters
    ----------
    request : Request
        Any.
    inbox : Inbox
        Of the case.
    """
    for entry in (inbox.draft() or {}).get("jobs", []):
        job = _job(request, str(entry["id"]))
        if job is not None and not job.state.has_ended:
            jobs_of(request).cancel(job.id)


def _job(request: Request, identity: str) -> Job | None:
    """Find a job; None where it was pruned."""
    try:
        return jobs_of(request).state(identity)
    except MissingError:
        return None


def _put_out(inbox: Inbox, key: str) -> None:
    """Take a log out of the inbox where it is still there."""
    try:
        inbox.remove(key)
    except MissingError:
        return


def _why(number: int, job: Job | None) -> list[Finding]:
    """Say why a run was not added."""
    if job is None or not job.findings:
        state = "stopped" if job is not None and job.state is State.CANCELLED else "interrupted"
        return [error(f"run {number}", f"was {state} before it was added.", "Add it again.")]
    return [
        Finding(
            level=each.level,
            place=f"run {number}, {each.place}",
            message=each.message,
            remedy=each.remedy,
        )
        for each in job.findings
    ]

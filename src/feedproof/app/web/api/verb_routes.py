"""The verbs that compute: one address each, made from one table."""

from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Depends, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from feedproof.app.cli import VERBS as WORDS
from feedproof.app.jobs.verbs import VERBS, call, given
from feedproof.app.progress import silent
from feedproof.app.web.access import needs_token_of_browsers
from feedproof.app.web.api.answers import WRITING, answered, gives
from feedproof.app.web.api.requests import asked_of, body_of, sent_of
from feedproof.app.web.api.strict import StrictRoute
from feedproof.app.web.api.upload_routes import uploads_of
from feedproof.app.web.screen import case_of, workspace_of
from feedproof.core.errors import InputError

writes = APIRouter(route_class=StrictRoute, dependencies=[Depends(needs_token_of_browsers)])
MOST_SAMPLES = 4096
"""Samples that are computed while the caller waits; more are the work of a job."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """
    Where a verb is asked.

    Parameters
    ----------
    verb : str
        Of `feedproof.app.jobs.verbs.VERBS`.
    path : str
        Below the case.
    document : str
        What it answers with.
    tag : str
        Chapter of the document.
    status : int
        Of the answer.
    """

    verb: str
    path: str
    document: str
    tag: str = "computing"
    status: int = 200


ADDRESSES = (
    Address(verb="predict", path="predict", document="prediction"),
    Address(verb="envelope", path="envelope", document="envelope"),
    Address(verb="sensitivity", path="sensitivity", document="sensitivity"),
    Address(verb="cold_start", path="cold-start", document="cold-start"),
    Address(verb="faults", path="faults", document="faults"),
    Address(verb="plan", path="plan", document="plan"),
    Address(verb="prove", path="prove", document="proof"),
    Address(verb="fit", path="fit", document="fit"),
    Address(verb="protect", path="protect", document="protection"),
    Address(verb="service", path="service", document="service"),
    Address(verb="choose", path="choose", document="choice"),
    Address(verb="publish", path="publish", document="written"),
    Address(verb="store_verify", path="verify", document="verified", tag="case"),
    Address(verb="look", path="look", document="look", tag="runs"),
    Address(verb="add_run", path="runs", document="written", tag="runs", status=201),
)


def _route(address: Address) -> None:
    """Make the operation of a verb."""

    async def ask(request: Request, case: str) -> Response:  # noqa: ARG001
        case_of(request)
        sent = await sent_of(request)
        told = await run_in_threadpool(_called, request, address.verb, sent)
        return answered(told, address.status)

    word = address.verb.replace("store_", "store ").replace("_", "-")
    ask.__doc__ = WORDS[word]
    writes.post(
        f"/cases/{{case}}/{address.path}",
        name=address.verb,
        summary=f"feedproof {word}",
        description=WORDS[word],
        tags=[address.tag],
        openapi_extra=body_of(address.verb),
        **gives(
            address.document,
            f"As `feedproof {word} --json` prints it.",
            status=address.status,
            faults=WRITING,
        ),
    )(ask)


def checked(request: Request, name: str, sent: dict[str, Any]) -> dict[str, Any]:
    """
    Check what is asked of a verb while the caller waits.

    Parameters
    ----------
    request : Request
        The request.
    name : str
        Of the verb.
    sent : dict
        Plain JSON.

    Returns
    -------
    dict
        As `feedproof.app.jobs` takes it.

    Raises
    ------
    InputError
        All mistakes of form, or more work than a caller should wait for.
    MissingError
        A file that does not wait.
    """
    path = case_of(request)
    uploads, root = uploads_of(request), workspace_of(request).path
    asked = asked_of(
        name,
        sent,
        lambda upload: uploads.file(path.name, upload).relative_to(root),
    )
    samples = asked.get("samples")
    if samples is not None and samples > MOST_SAMPLES:
        raise InputError.at(
            "parameters.samples",
            f"{samples} take longer than a caller should wait; at most {MOST_SAMPLES} here.",
            "Ask for it as a job.",
        )
    return asked


def _called(request: Request, name: str, sent: dict[str, Any]) -> Any:
    """Call a verb, and take away what it used up."""
    path, root = case_of(request), workspace_of(request).path
    asked = checked(request, name, sent)
    verb = VERBS[name]
    told = call(verb, path, given(verb, asked, root), silent)
    if name == "add_run":
        # The case has them now.
        for upload in sent["logs"].values():
            uploads_of(request).remove(path.name, upload)
    return told


for _each in ADDRESSES:
    _route(_each)

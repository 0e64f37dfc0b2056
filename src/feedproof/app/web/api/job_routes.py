"""Long work: put in, watched, cancelled, its result fetched."""

import threading
from typing import Annotated, Any

from fastapi import APIRouter, Depends, FastAPI, Query, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from feedproof.app.documents import to_document
from feedproof.app.jobs.record import Job
from feedproof.app.jobs.running import Jobs
from feedproof.app.web.access import needs_token_of_browsers
from feedproof.app.web.api.answers import (
    READING,
    WRITING,
    answered,
    described,
    gives,
    reference,
)
from feedproof.app.web.api.requests import asked_of, model_of, sent_of
from feedproof.app.web.api.strict import StrictRoute
from feedproof.app.web.api.told_here import JobList
from feedproof.app.web.api.upload_routes import uploads_of
from feedproof.app.web.api.verb_routes import ADDRESSES
from feedproof.app.web.screen import case_of, workspace_of
from feedproof.app.web.shown.computing import TABLE
from feedproof.core.errors import InputError, MissingError

reads = APIRouter(tags=["jobs"])
writes = APIRouter(
    tags=["jobs"], route_class=StrictRoute, dependencies=[Depends(needs_token_of_browsers)]
)
VERBS = {each.verb: each for each in ADDRESSES}
LONGEST_WAIT_S = 30.0
_BEGINNING = threading.Lock()


def jobs_of(request: Request) -> Jobs:
    """Give the server's jobs, for a route; they are opened when they are first asked for."""
    app: FastAPI = request.app
    return open_jobs(app)


def open_jobs(app: FastAPI) -> Jobs:
    """
    Open the jobs of a server where they are not open yet.

    Parameters
    ----------
    app : FastAPI
        The server.

    Returns
    -------
    Jobs
        The only ones of its workspace.
    """
    with _BEGINNING:
        found = getattr(app.state, "jobs", None)
        if found is None:
            found = app.state.jobs = Jobs(app.state.workspace.path, table=TABLE)
    jobs: Jobs = found
    return jobs


def end_jobs(app: FastAPI) -> None:
    """
    End the jobs of a server where it has any.

    Parameters
    ----------
    app : FastAPI
        The server.
    """
    jobs = getattr(app.state, "jobs", None)
    if jobs is not None:
        app.state.jobs = None
        jobs.close()


def _body() -> dict[str, Any]:
    """Describe what is sent for a job: one form for each verb."""
    forms = [
        {
            "type": "object",
            "title": f"Job{verb.title().replace('_', '')}",
            "properties": {
                "verb": {"const": verb},
                "parameters": model_of(verb).model_json_schema(),
            },
            "required": (
                ["verb", "parameters"]
                if model_of(verb).model_json_schema().get("required")
                else ["verb"]
            ),
            "additionalProperties": False,
        }
        for verb in VERBS
    ]
    content = {"application/json": {"schema": {"oneOf": forms}}}
    return {"requestBody": {"required": True, "content": content}}


LOCATION = {"location": "Address of the job."}


@writes.post(
    "/cases/{case}/jobs",
    openapi_extra=_body(),
    **gives("job", "Put in.", status=202, faults=WRITING, headers=LOCATION),
)
async def put_in(request: Request, case: str) -> Response:
    """Put a verb in as a job; it is computed beside the server and can be cancelled."""
    case_of(request)
    sent = await sent_of(request)
    job = await run_in_threadpool(_put_in, request, sent)
    return answered(job, 202, {"location": f"/api/cases/{case}/jobs/{job.id}"})


def _put_in(request: Request, sent: dict[str, Any]) -> Job:
    """Check what was sent, and submit it."""
    path = case_of(request)
    verb, parameters = sent.get("verb"), sent.get("parameters", {})
    if not isinstance(verb, str) or verb not in VERBS:
        raise InputError.at("verb", f"{verb!r:.80} is none.", f"There are: {', '.join(VERBS)}.")
    if not isinstance(parameters, dict):
        raise InputError.at("parameters", "are no object.", "Send an object.")
    if extra := sorted(set(sent) - {"verb", "parameters"}):
        raise InputError.at("body", f"has more than it may: {extra!r:.200}.", "Leave it out.")
    uploads, root = uploads_of(request), workspace_of(request).path
    asked = asked_of(
        verb, parameters, lambda upload: uploads.file(path.name, upload).relative_to(root)
    )
    return jobs_of(request).submit(verb, path, asked)


@reads.get("/cases/{case}/jobs", **gives("jobs", "The newest first."))
def list_jobs(request: Request, case: str) -> Response:  # noqa: ARG001
    """List the jobs of a case."""
    found = jobs_of(request).list(case_of(request))
    return answered(JobList(format="feedproof-jobs", version=1, jobs=found))


@reads.get("/cases/{case}/jobs/{job}", **gives("job", "As it is now."))
async def read_job(
    request: Request,
    case: str,  # noqa: ARG001
    job: str,
    wait_s: Annotated[
        float,
        Query(
            ge=0, le=LONGEST_WAIT_S, description="Wait so long for its end.", allow_inf_nan=False
        ),
    ] = 0.0,
) -> Response:
    """Say where a job stands; with `wait_s` once it has ended, or when the time is over."""
    found = await run_in_threadpool(_job, request, job)
    if wait_s > 0 and not found.state.has_ended:
        found = await jobs_of(request).ended(job, wait_s)
    return answered(found)


def _job(request: Request, identity: str) -> Job:
    """Find a job of this case; that of another case is none."""
    case = case_of(request)
    jobs = jobs_of(request)
    found = jobs.state(identity)
    if jobs.case_of(found).resolve() != case.resolve():
        raise MissingError.at("job", f"there is no job {identity!r} of this case.", "See the list.")
    return found


_RESULT: Any = {
    "application/json": {
        "schema": {
            "anyOf": [
                reference(each) for each in dict.fromkeys(address.document for address in ADDRESSES)
            ]
        }
    }
}


@writes.delete("/cases/{case}/jobs/{job}", **gives("job", "As it is now.", faults=WRITING))
def cancel_job(request: Request, case: str, job: str) -> Response:  # noqa: ARG001
    """Cancel a job: at once while it waits, else as soon as it can stop."""
    _job(request, job)
    return answered(jobs_of(request).cancel(job))


@writes.post(
    "/cases/{case}/jobs/{job}/again",
    **gives("job", "Put in.", status=202, faults=WRITING, headers=LOCATION),
)
def repeat_job(request: Request, case: str, job: str) -> Response:
    """Put a job in once more, as it was asked."""
    _job(request, job)
    new = jobs_of(request).again(job)
    return answered(new, 202, {"location": f"/api/cases/{case}/jobs/{new.id}"})


@reads.get(
    "/cases/{case}/jobs/{job}/result",
    **described("The document of the verb.", _RESULT, faults=(*READING, 409)),
)
def read_job_result(request: Request, case: str, job: str) -> Response:  # noqa: ARG001
    """Fetch what a job found: the document of its verb; a job that failed gives its findings."""
    _job(request, job)
    return answered(to_document(jobs_of(request).result(job)))

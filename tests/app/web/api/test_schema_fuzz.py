"""
The OpenAPI document against the server: whatever it allows or forbids, no fault, and answers fit.

Short and always the same in the normal run; FEEDPROOF_FUZZ sets how many examples of each
operation are tried, with others each time and nothing left out.
"""

import copy
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis.generation import GenerationMode
from schemathesis.python import asgi
from schemathesis.specs.openapi import checks

from feedproof.app import (
    api,
    choosing,
    cold_starting,
    fitting,
    planning,
    proving,
    publishing,
    servicing,
    surveying,
)
from feedproof.app import sensitivity as sensing
from feedproof.app.jobs.limits import Limits
from feedproof.app.jobs.running import Jobs
from feedproof.app.web.application import create_app
from feedproof.app.web.serve_settings import ServeSettings
from feedproof.core.errors import InputError

FULL = int(os.environ.get("FEEDPROOF_FUZZ", "0"))
EXAMPLES = FULL or 4
BASE = "http://localhost"
CHECKS = [
    schemathesis.checks.not_a_server_error,
    checks.status_code_conformance,
    checks.content_type_conformance,
    checks.response_schema_conformance,
    checks.response_headers_conformance,
]
SLOW = (
    (fitting, "fit_case"),
    (choosing, "choose_case"),
    (cold_starting, "cold_report"),
    (planning, "plan_case"),
    (proving, "prove_case"),
    (publishing, "build_publication"),
    (sensing, "sensitivity_case"),
    (servicing, "service_case"),
    (surveying, "survey_case"),
)
"""What takes long with sound parameters; the short form checks parameters and stops there."""


schemathesis.serializer.alias("application/toml", "text/plain")


class Server:
    """A server with one case, put right after each call that changed the list of cases."""

    def __init__(self, folder: Path) -> None:
        many = {"requests_per_s": 1e9, "burst": 1_000_000_000, "upload_limit_bytes": 1_000_000}
        self.cases = folder / "cases"
        if not FULL:
            # A case without logs, so that hundreds of calls take seconds.
            self.cases.mkdir()
            api.new(self.cases / "demo")
        self.app = create_app(ServeSettings(workspace=self.cases, **many))
        if not FULL:
            # Every job is refused for want of room, after all that was sent was looked at.
            self.app.state.jobs = Jobs(self.cases, limits=Limits(waiting=0))

    def document(self) -> dict:
        """Name the case that is there, so that examples get further than "no such case"."""
        document = copy.deepcopy(self.app.openapi())
        for path, operations in document["paths"].items():
            for operation in operations.values():
                for parameter in operation.get("parameters", ()):
                    if parameter["name"] == "case" and "undo" not in path:
                        parameter["schema"] = {"enum": ["demo"]}
        return document

    def put_right(self) -> None:
        removed = sorted((self.cases / ".removed").glob("demo-*"))
        if not (self.cases / "demo").exists():
            removed[-1].rename(self.cases / "demo")
        for each in self.cases.iterdir():
            if each.name not in ("demo", ".feedproof", ".removed"):
                shutil.rmtree(each)


@pytest.fixture(scope="module")
def server(tmp_path_factory) -> Iterator[tuple[Server, asgi.ASGIClient]]:
    with pytest.MonkeyPatch.context() as patched:
        folder = tmp_path_factory.mktemp("fuzz")
        patched.setenv("FEEDPROOF_STORE", str(folder / "store.sqlite"))
        patched.setenv("FEEDPROOF_ARCHIVE", str(folder / "archive.jsonl"))
        if not FULL:
            for room, name in SLOW:
                patched.setattr(room, name, _left_out)
        made = Server(folder)
        with asgi.get_client(made.app) as client:
            yield made, client


def _left_out(*_, **__):
    raise InputError.at("here", "is left out in the short form.")


def _operations() -> list[str]:
    """Name all operations for the report of the tests."""
    from fastapi.routing import iter_route_contexts

    from feedproof.app.web.api.routers import router

    return sorted(
        f"{method} {each.path}"
        for each in iter_route_contexts(router.routes)
        for method in each.methods or ()
    )


@pytest.mark.timeout(0 if FULL else 120)
@pytest.mark.parametrize("mode", list(GenerationMode), ids=lambda mode: mode.value)
@pytest.mark.parametrize("label", _operations())
def test_no_call_of_an_operation_is_a_fault_and_every_answer_is_as_described(server, label, mode):
    made, client = server
    method, path = label.split()
    schema = schemathesis.openapi.from_dict(made.document())
    operation = schema[path][method]

    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        derandomize=not FULL,
        database=None,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy(generation_mode=mode))
    def called(case):
        answer = case.call(session=client, base_url=BASE, headers={"origin": BASE})
        case.validate_response(answer, checks=CHECKS)
        if method != "GET":
            made.put_right()

    try:
        called()
    except Unsatisfiable:
        # An operation that takes nothing can be sent nothing wrong.
        assert mode is GenerationMode.NEGATIVE

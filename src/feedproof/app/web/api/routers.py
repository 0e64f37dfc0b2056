"""All operations of the HTTP interface, below one address."""

from fastapi import APIRouter
from fastapi.routing import APIRoute

from feedproof.app.web.api import (
    archive_routes,
    case_routes,
    edit_routes,
    job_routes,
    picture_routes,
    record_routes,
    run_routes,
    upload_routes,
    verb_routes,
    what_if_routes,
    workshop_routes,
    workspace_routes,
)


def _name(route: APIRoute) -> str:
    """Name an operation by its function: shorter, and it stays when an address changes."""
    return route.name


router = APIRouter(prefix="/api", generate_unique_id_function=_name)
for _each in (
    workspace_routes.reads,
    workspace_routes.writes,
    workspace_routes.files_in,
    case_routes.reads,
    case_routes.writes,
    edit_routes.reads,
    edit_routes.writes,
    upload_routes.reads,
    upload_routes.writes,
    upload_routes.files_in,
    run_routes.writes,
    verb_routes.writes,
    picture_routes.writes,
    what_if_routes.reads,
    what_if_routes.writes,
    job_routes.reads,
    job_routes.writes,
    workshop_routes.reads,
    workshop_routes.writes,
    archive_routes.reads,
    archive_routes.writes,
    archive_routes.files_in,
    record_routes.reads,
    record_routes.writes,
):
    router.include_router(_each)

"""The server: guards, screens, API, put together."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.responses import FileResponse, Response
from starlette.staticfiles import StaticFiles

from feedproof import __version__
from feedproof.app.web import (
    again,
    failures,
    pages_cases,
    pages_logs,
    pages_report,
    pages_results,
    pages_runs,
    pages_vehicle,
    pages_verdict,
    pages_what_if,
    pages_work,
    pages_workshop,
)
from feedproof.app.web.access import Access, AccessGuard, StaleFormError
from feedproof.app.web.api.job_routes import end_jobs, open_jobs
from feedproof.app.web.api.openapi import describe
from feedproof.app.web.api.routers import router as api_router
from feedproof.app.web.guards import BodyGuard, HeaderGuard, OriginGuard, RateGuard
from feedproof.app.web.passwords import PasswordFile
from feedproof.app.web.preferences import Preferences
from feedproof.app.web.serve_settings import ServeSettings
from feedproof.app.web.workspace import Workspace
from feedproof.core.errors import FeedproofError

HERE = Path(__file__).parent
FONTS = HERE.parents[1] / "report" / "fonts"
ROUTERS = (
    pages_cases.router,
    pages_vehicle.router,
    pages_what_if.router,
    pages_runs.router,
    pages_logs.router,
    pages_verdict.router,
    pages_results.router,
    pages_report.router,
    pages_work.router,
    pages_workshop.router,
)
"""Every screen's router; a screen is added here and in `feedproof.app.web.screen.SCREENS`."""


def create_app(settings: ServeSettings) -> FastAPI:
    """
    Put the server together.

    Parameters
    ----------
    settings : ServeSettings
        How it was asked to run.

    Returns
    -------
    FastAPI
        An ASGI application; its state holds workspace, access and preferences.

    Raises
    ------
    WriteError
        The workspace cannot be written.
    """
    workspace = Workspace(settings.workspace)
    is_first_visit = workspace.prepare()
    access = Access(settings, workspace.secret(), PasswordFile(workspace.own / "password"))

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        app.state.preferences.load()
        # Work that waited when the server ended goes on without anybody asking.
        if (workspace.own / "jobs").is_dir():
            open_jobs(app)
        yield
        end_jobs(app)

    app = FastAPI(
        title="feedproof",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url="/api/openapi.json",
        lifespan=life,
        middleware=[
            Middleware(HeaderGuard),
            Middleware(OriginGuard, settings=settings),
            Middleware(RateGuard, settings=settings),
            Middleware(BodyGuard, settings=settings),
            Middleware(AccessGuard, access=access, password_first=again.password_first),
        ],
    )
    app.state.settings = settings
    app.state.workspace = workspace
    app.state.access = access
    app.state.preferences = Preferences()
    app.state.is_first_visit = is_first_visit
    for kind, handler in _failures().items():
        app.add_exception_handler(kind, handler)
    app.mount("/static/fonts", StaticFiles(directory=FONTS))
    app.mount("/static", StaticFiles(directory=HERE / "static"))
    app.get("/favicon.ico", include_in_schema=False)(_icon)
    for router in ROUTERS:
        app.include_router(router, include_in_schema=False)
    app.include_router(api_router, include_in_schema=True)
    describe(app)
    return app


def _failures() -> dict[Any, Any]:
    """Say who answers for which error."""
    return {
        FeedproofError: failures.told,
        StaleFormError: again.stale,
        HTTPException: failures.refused,
        RequestValidationError: failures.not_understood,
        Exception: failures.unexpected,
    }


async def _icon(request: Request) -> Response:  # noqa: ARG001
    """Give the icon."""
    return FileResponse(HERE / "static" / "icon.svg", media_type="image/svg+xml")

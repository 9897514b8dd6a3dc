"""The routes of the workshop's jobs: what there is, what was found, and the papers."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query
from starlette.responses import Response

from daq.daemon.jobs.answers import CompareAnswer, FoundAnswer, JobAnswer, JobsAnswer
from daq.daemon.jobs.bench_routes import bench_routes
from daq.daemon.jobs.compare import compared
from daq.daemon.jobs.desks import Desks
from daq.daemon.jobs.found import found
from daq.daemon.jobs.listed import answer_of, entry_of
from daq.daemon.jobs.pages import page
from daq.daemon.jobs.requests import NewJob
from daq.files.instrument import parse_instrument
from daq.steps.reporting import report_of, sheet_of

State = Literal["strung", "unstrung"]
HTML: dict[int | str, dict[str, Any]] = {200: {"content": {"text/html": {}}}}


def job_routes(desks: Desks) -> APIRouter:
    """Every route under /jobs."""
    routes = APIRouter()
    _list_routes(routes, desks)
    routes.include_router(bench_routes(desks))
    _paper_routes(routes, desks)
    return routes


def _list_routes(routes: APIRouter, desks: Desks) -> None:
    workshop = desks.workshop

    @routes.get("/jobs", summary="Every job of the workshop")
    def jobs() -> JobsAnswer:
        return JobsAnswer(jobs=[entry_of(job) for job in workshop.jobs()])

    @routes.post("/jobs", status_code=201, summary="Open a job")
    def new(asked: NewJob) -> JobAnswer:
        name = asked.name.strip()
        job = workshop.new_job(name, parse_instrument(asked.instrument, "instrument"))
        return answer_of(job)

    @routes.get("/jobs/{name}", summary="One job: its scans, plans and checks, and what is next")
    def one(name: str) -> JobAnswer:
        with desks.at(name) as desk:
            return answer_of(desk.job)


def _paper_routes(routes: APIRouter, desks: Desks) -> None:
    workshop = desks.workshop

    @routes.get("/jobs/{name}/found", summary="What one state's scans show of the neck")
    def what_was_found(name: str, state: State) -> FoundAnswer:
        with desks.at(name) as desk, desk.papers:
            return found(desks.kept.reader(desk.job), state)

    @routes.get(
        "/jobs/{name}/compare",
        summary="One string in both states, or before and after the file",
    )
    def compare(
        name: str,
        what: Literal["states", "filed"],
        string: Annotated[int, Query(description="Counted from 1.")] = 1,
    ) -> CompareAnswer:
        with desks.at(name) as desk, desk.papers:
            return compared(desks.kept.reader(desk.job), what, string)

    @routes.get(
        "/jobs/{name}/report",
        summary="The report, whole, without scripts",
        response_class=Response,
        responses=HTML,
    )
    def report(name: str) -> Response:
        with desks.at(name) as desk, desk.papers:
            return page(report_of(workshop, desk.job))

    @routes.get(
        "/jobs/{name}/sheet",
        summary="The cut sheet alone, to print",
        response_class=Response,
        responses=HTML,
    )
    def sheet(name: str) -> Response:
        with desks.at(name) as desk, desk.papers:
            return page(sheet_of(workshop, desk.job))

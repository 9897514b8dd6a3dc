"""The routes of a job on the bench: what is asked, what comes of it, what is kept of it."""

from __future__ import annotations

import time

from fastapi import APIRouter
from starlette.responses import Response

from analysis.strings.playing import BUILT_IN
from daq.daemon.jobs.answers import AskedAnswer, CheckKept, PlanKept, WhyAnswer
from daq.daemon.jobs.checking import check_job
from daq.daemon.jobs.controls import controls_of
from daq.daemon.jobs.desks import Desks
from daq.daemon.jobs.keeping import keep_plan
from daq.daemon.jobs.requests import KeepPlan, Move, Nothing
from daq.daemon.jobs.tried import TriedAnswer, tried_bytes
from daq.daemon.jobs.why import why


def bench_routes(desks: Desks) -> APIRouter:
    """Under /jobs/{name}."""
    routes = APIRouter()

    @routes.get("/jobs/{name}/asked", summary="What is asked of the plan, and what can be asked")
    def asked(name: str) -> AskedAnswer:
        with desks.at(name) as desk:
            now, revision, instrument = desk.bench.now()
            ranges = {path: one.range for path, one in controls_of(instrument).items()}
            players = list(BUILT_IN)
            return AskedAnswer(asked=now.asked, revision=revision, players=players, ranges=ranges)

    @routes.post(
        "/jobs/{name}/asked",
        summary="Move what is asked; the plan for it, at once",
        response_class=Response,
        responses={200: {"model": TriedAnswer}},
    )
    def move(name: str, moved: Move) -> Response:
        began_s = time.perf_counter()
        with desks.at(name) as desk:
            stands = desk.bench.move(moved)
            answer = tried_bytes(stands, moved.tab, moved.show, began_s)
            return Response(answer, media_type="application/json")

    @routes.post("/jobs/{name}/why", summary="What is in the way of all that is asked")
    def reasons(name: str, _: Nothing) -> WhyAnswer:
        with desks.at(name) as desk:
            return why(*desk.bench.as_asked())

    @routes.post("/jobs/{name}/plans", status_code=201, summary="Keep the plan for what is asked")
    def keep(name: str, asked: KeepPlan) -> PlanKept:
        with desks.at(name) as desk, desk.papers:
            return keep_plan(desks.workshop, desk, asked)

    @routes.post("/jobs/{name}/checks", status_code=201, summary="Verify the latest plan")
    def check(name: str, _: Nothing) -> CheckKept:
        with desks.at(name) as desk, desk.papers:
            return check_job(desks.workshop, desk.job)

    return routes

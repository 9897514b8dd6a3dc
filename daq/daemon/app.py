"""The routes: what can be asked of a daemon over HTTP, all of it described under /v1."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, FastAPI, Header, HTTPException, Query
from starlette.responses import Response

from daq.daemon import documents as said
from daq.daemon.faults import FAULTS, answer_faults
from daq.daemon.hands import Hands
from daq.daemon.health import Doctor, Health
from daq.daemon.hub import Hub
from daq.daemon.jobs.desks import Desks
from daq.daemon.jobs.routes import job_routes
from daq.daemon.keeper import Keeper
from daq.daemon.page import add_page
from daq.daemon.simulated_routes import simulated_routes
from daq.daemon.stream import EventResponse
from daq.daemon.work import WorkRequest
from daq.daemon.works import Running
from daq.errors import NeckformError
from daq.workshop.place import Workshop


@dataclass(frozen=True, slots=True)
class Served:
    """What the routes work with. program: name and version. hands: beside a simulated rig."""

    keeper: Keeper
    hub: Hub
    doctor: Doctor
    program: str
    workshop: str
    hands: Hands | None = None


def make_app(served: Served) -> FastAPI:
    """The application, without what guards it."""
    app = FastAPI(
        title="neckform",
        version=served.program.rpartition(" ")[2],
        description="One rig: live, at work, and in good health. A fault is answered as "
        "{kind, message}. What happens is told by the event stream.",
        openapi_url="/v1/openapi.json",
        docs_url=None,
        redoc_url=None,
        responses=FAULTS,
    )
    answer_faults(app)
    app.include_router(_rig_routes(served), prefix="/v1", tags=["rig"])
    app.include_router(_work_routes(served), prefix="/v1", tags=["work"])
    simulated = simulated_routes(served.keeper.works, served.hands)
    app.include_router(simulated, prefix="/v1", tags=["simulated"])
    desks = Desks(Workshop(Path(served.workshop)), served.hub)
    app.include_router(job_routes(desks), prefix="/v1", tags=["jobs"])
    add_page(app)
    return app


def _rig_routes(served: Served) -> APIRouter:
    routes = APIRouter()
    keeper, hub = served.keeper, served.hub

    @routes.get("/rig", summary="Which rig this is, and its file")
    async def rig() -> said.RigAnswer:
        file = keeper.rig_file
        return said.RigAnswer(
            name=file.name,
            program=served.program,
            workshop=served.workshop,
            text=file.text,
            rate_hz=file.sensor.rate_hz,
            travel_mm=file.carriage.travel_mm,
            pads_mm=[(pad.from_mm, pad.to_mm) for pad in file.pads],
            drive=file.carriage.drive,
            simulated=served.hands is not None,
        )

    @routes.get("/state", summary="How the rig is, and what it is doing")
    async def state() -> said.StateAnswer:
        now, work = keeper.state, keeper.works.now
        return said.StateAnswer(
            state=now.word,
            since=now.since,
            why=now.why,
            devices=[hello.device_id for hello in now.hellos],
            work=None if work is None else said.work_answer(work),
            event=hub.last_number,
        )

    @routes.get("/health", summary="Rates, gaps, queue, disk, calibrations; 503 where unfit")
    def health(response: Response) -> Health:
        found = served.doctor.look(hub.clients)
        response.status_code = 200 if found.fit else 503
        return found

    @routes.get("/profile", summary="The profile of this pass so far")
    async def profile() -> said.ProfileAnswer:
        return said.ProfileAnswer(**keeper.watching.live.profile.document())

    @routes.get(
        "/events",
        summary="What happens, as text/event-stream",
        description="live (25 a second at most), rig, rig_event, fault, fault_over, work_began, "
        "progress, question, answered, work_ended, profile_cleared, job (its folder holds "
        "something new; why: scan, plan, check, or gone), asked (of a job; revision, and the tab "
        "that moved it), cut_off. A question before work_began asks "
        "whether the work may begin. Those with an id are kept for a while and told again to who "
        "comes back with it.",
        response_class=Response,
        responses={200: {"content": {"text/event-stream": {}}}},
    )
    async def events(
        live: Annotated[bool, Query(description="With the live samples.")] = True,
        after: Annotated[int | None, Query(ge=0, description="The last event known.")] = None,
        last_event_id: Annotated[int | None, Header(ge=0)] = None,
    ) -> EventResponse:
        return EventResponse(
            hub, after=after if last_event_id is None else last_event_id, live=live
        )

    return routes


def _work_routes(served: Served) -> APIRouter:
    routes = APIRouter()
    keeper = served.keeper

    def found(work_id: str) -> Running:
        work = keeper.works.find(work_id)
        if work is None:
            raise HTTPException(404, "there is no such work, or it is long over")
        return work

    @routes.post("/work", status_code=202, summary="Begin a work; one at a time")
    def begin(asked: WorkRequest) -> said.WorkAnswer:
        return said.work_answer(keeper.give(asked))

    @routes.get("/work", summary="The last works, oldest first")
    async def works() -> list[said.WorkAnswer]:
        return [said.work_answer(work) for work in keeper.works.all()]

    @routes.get("/work/{work_id}", summary="How a work stands")
    async def work(work_id: str) -> said.WorkAnswer:
        return said.work_answer(found(work_id))

    @routes.get("/work/{work_id}/result", summary="What a work came to, or its fault")
    def result(work_id: str) -> said.ResultAnswer:
        work = found(work_id)
        if isinstance(work.error, NeckformError):
            raise work.error
        if work.state != "done":
            raise HTTPException(409, f"the work is {work.state}")
        return said.ResultAnswer(id=work.id, kind=work.asked.kind, result=work.result)

    @routes.post("/work/{work_id}/cancel", summary="Stop a work; what was recorded is kept")
    async def cancel(work_id: str) -> said.WorkAnswer:
        work = found(work_id)
        keeper.cancel(work)
        return said.work_answer(work)

    @routes.post("/questions/{question_id}", summary="Answer what a work asks of a person")
    async def answer(question_id: str, given: said.Answered) -> said.Answered:
        if not keeper.works.answer(question_id, given.answer):
            raise HTTPException(409, "that question is answered already")
        return given

    return routes

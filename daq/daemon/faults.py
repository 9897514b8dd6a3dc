"""Every fault as an answer: {kind, message}, with the code that goes with it."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse

from daq.daemon.documents import Fault, fault
from daq.daemon.hub import TooManyClients
from daq.daemon.works import Busy
from daq.errors import FileError, InputError, NeckformError

FAULTS: dict[int | str, dict[str, Any]] = {
    404: {"model": Fault, "description": "There is no such job or work, or no longer"},
    409: {"model": Fault, "description": "Something else is under way, or it is over already"},
    422: {"model": Fault, "description": "What was given is wrong"},
    503: {"model": Fault, "description": "The rig is not there, or failed"},
    507: {"model": Fault, "description": "A file could not be read or written"},
}
_MOST_TOLD = 3


def answer_faults(app: FastAPI) -> None:
    """Adds the answers to an application."""
    app.add_exception_handler(NeckformError, _of_the_program)
    app.add_exception_handler(RequestValidationError, _of_the_request)
    app.add_exception_handler(HTTPException, _of_the_route)
    app.add_exception_handler(TooManyClients, _too_many)


def code_of(error: NeckformError) -> int:
    """409 where the rig is at work, 422 for what was given, 507 for files, 503 for the rig."""
    if isinstance(error, Busy):
        return 409
    return 422 if isinstance(error, InputError) else 507 if isinstance(error, FileError) else 503


async def _of_the_program(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, NeckformError)
    return _answer(request, code_of(error), fault(error))


async def _of_the_request(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, RequestValidationError)
    wrong = [
        f"{'.'.join(str(part) for part in one['loc'])}: {one['msg']}" for one in error.errors()
    ]
    more = f" (and {len(wrong) - _MOST_TOLD} more)" if len(wrong) > _MOST_TOLD else ""
    message = "; ".join(wrong[:_MOST_TOLD]) + more
    return _answer(request, 422, Fault(kind="InputError", message=message[:1000]))


async def _of_the_route(request: Request, error: Exception) -> JSONResponse:
    assert isinstance(error, HTTPException)
    return _answer(request, error.status_code, Fault(kind="InputError", message=error.detail))


async def _too_many(request: Request, _error: Exception) -> JSONResponse:
    told = Fault(kind="RigError", message="too many listen already; close a page or two")
    return _answer(request, 503, told)


def _answer(request: Request, code: int, told: Fault) -> JSONResponse:
    request.state.why = told.message
    return JSONResponse(told.model_dump(), code)

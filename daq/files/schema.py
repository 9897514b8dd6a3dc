"""pydantic's errors as Faults: paths in the file's own terms, and what is allowed there."""

from __future__ import annotations

import types
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from daq.files.faults import Fault, KeyPath, describe, nearest
from daq.files.located import Located

UNKNOWN_KEY = ("extra_forbidden", "invalid_key")
NO_GROUP = ("model_type", "dict_type")


def schema_faults(error: ValidationError, model: type[BaseModel], located: Located) -> list[Fault]:
    """Every fault pydantic found, in its order."""
    return [_fault(detail, model, located) for detail in error.errors(include_url=False)]


def _fault(detail: ErrorDetails, model: type[BaseModel], located: Located) -> Fault:
    path = _file_path(detail["loc"], located.data)
    kind = detail["type"]
    if kind == "missing":
        return Fault(path, "nothing", allowed_at(model, path))
    path = located.known_part(path)
    if kind in UNKNOWN_KEY:
        return _unknown_key(path, model)
    found = describe(detail["input"])
    if kind == "check":
        context: dict[str, Any] = detail.get("ctx", {})
        return Fault(path, context["found"], context["allowed"], context["hint"])
    if kind in NO_GROUP:
        return Fault(path, found, allowed_at(model, path))
    return Fault(path, found, detail["msg"])


def _unknown_key(path: KeyPath, model: type[BaseModel]) -> Fault:
    known = keys_of(type_at(model, path[:-1]))
    hint = nearest(str(path[-1]), known) if path else ""
    return Fault(path, "an unknown key", f"only {', '.join(known)}", hint)


def _file_path(loc: tuple[int | str, ...], data: object) -> KeyPath:
    """pydantic counts list entries from 0, the file's paths from 1; keys of maps stay."""
    path: list[int | str] = []
    for step in loc:
        if isinstance(data, tuple) and isinstance(step, int):
            path.append(step + 1)
            data = data[step] if step < len(data) else None
        else:
            path.append(step)
            data = data.get(step) if isinstance(data, dict) else None
    return tuple(path)


def allowed_at(model: type[BaseModel], path: KeyPath) -> str:
    """What may stand at a path, in words: its check's own, or the keys of its group."""
    holder = type_at(model, path[:-1])
    if path and _is_model(holder) and path[-1] in holder.model_fields:
        for extra in holder.model_fields[str(path[-1])].metadata:
            allowed = getattr(getattr(extra, "func", None), "allowed", None)
            if allowed is not None:
                return str(allowed)
    return _listed(keys_of(type_at(model, path)))


def _listed(keys: tuple[str, ...]) -> str:
    return f"a group of keys: {', '.join(keys)}" if len(keys) > 1 else f"the key {''.join(keys)}"


def keys_of(kind: Any) -> tuple[str, ...]:
    """The keys a group may have; empty where the kind is no group."""
    return tuple(kind.model_fields) if _is_model(kind) else ()


def type_at(model: type[BaseModel], path: KeyPath) -> Any:
    """The annotation at a path, without Annotated and None; None where the path leads nowhere."""
    kind: Any = model
    for step in path:
        kind = _bare(_inner(kind, step))
    return kind


def _inner(kind: Any, step: int | str) -> Any:
    if _is_model(kind):
        field = kind.model_fields.get(step)
        return field.annotation if field is not None else None
    inside = get_args(kind)
    if get_origin(kind) is dict:
        return inside[1]
    return inside[0] if get_origin(kind) is tuple else None


def _bare(kind: Any) -> Any:
    while get_origin(kind) in (Annotated, Union, types.UnionType):
        kind = next(part for part in get_args(kind) if part is not types.NoneType)
    return kind


def _is_model(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, BaseModel)

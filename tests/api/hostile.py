"""Calls that nobody means well with, made from the service's own description of itself."""

from __future__ import annotations

import string
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

import schemathesis
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from starlette.testclient import TestClient

LEFT_OUT = {  # answers that never end, and jobs that would keep the machine busy
    "watch_job",
    "stream_day",
}


@dataclass(frozen=True)
class Broken:
    """A call that the service could not cope with."""

    call: str
    status: int
    answer: str


def broken_by_description(
    client: TestClient, examples: int, *, only: frozenset[str] = frozenset(), seed_number: int = 1
) -> list[Broken]:
    """Call every route so many times with data that fits its description, and that does not.

    With `only`, the routes of these paths alone.
    """
    found: list[Broken] = []
    schema: Any = schemathesis.openapi.from_dict(client.get("/api/openapi.json").json())
    for one in schema.get_all_operations():
        operation = one.ok()
        if operation.definition.raw.get("operationId", "").startswith(tuple(LEFT_OUT)):
            continue
        if only and operation.path not in only:
            continue
        if "/events" in operation.path or "/stream" in operation.path:
            continue
        for mode in (GenerationMode.POSITIVE, GenerationMode.NEGATIVE):
            _try(client, operation, mode, examples, seed_number, found)
    return found


def _try(
    client: TestClient,
    operation: Any,
    mode: GenerationMode,
    examples: int,
    seed_number: int,
    found: list[Broken],
) -> None:
    try:
        strategy = operation.as_strategy(generation_mode=mode)
    except Exception:
        return

    @seed(seed_number)
    @settings(
        max_examples=examples,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=strategy)
    def call(case: Any) -> None:
        told = case.as_transport_kwargs(base_url="http://testserver")
        answer = _send(client, told)
        if answer.status_code >= 500:
            words = (
                f"{told['method']} {told['url']} {str(told.get('json', told.get('data')))[:300]}"
            )
            found.append(Broken(words, answer.status_code, answer.text[:300]))

    with suppress(Unsatisfiable):  # nothing can be wrong with a route that takes nothing
        call()


def _send(client: TestClient, told: dict[str, Any]) -> Any:
    kept: dict[str, Any] = {
        name: told.get(name) for name in ("params", "json", "files") if told.get(name)
    }
    data = told.get("data")
    if isinstance(data, bytes | str):
        kept["content"] = data
    elif data:
        kept["data"] = data
    headers = {
        name: value
        for name, value in dict(told.get("headers") or {}).items()
        if name.lower() not in {"cookie", "authorization"}
    }
    return client.request(told["method"], told["url"], headers=_plain(headers), **kept)


def _plain(headers: dict[str, Any]) -> dict[str, str]:
    fine = set(string.printable)
    return {name: "".join(c for c in str(value) if c in fine) for name, value in headers.items()}

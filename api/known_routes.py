"""The routes of the service, and the rule of each as a call finds it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from fastapi import FastAPI
from fastapi.routing import iter_route_contexts

from api.rights import RIGHTS
from api.rules import Rule

Endpoint = Callable[..., Any] | None


@dataclass(frozen=True, slots=True)
class KnownRoute:
    """A route of the service: `key` is how `RIGHTS` names it."""

    key: str
    method: str
    path: str
    endpoint: Endpoint


def routes_of(app: FastAPI) -> Iterable[KnownRoute]:
    """Every route of the service and every method of it, but for the folder of scripts."""
    for route in iter_route_contexts(app.routes):
        for method in sorted((route.methods or set()) - {"HEAD"}):
            path = str(route.path)
            yield KnownRoute(f"{method} {path}", method, path, route.endpoint)


def rules_of(app: FastAPI) -> dict[tuple[str, Endpoint], tuple[str, Rule]]:
    """The rules by method and endpoint, with their keys, as a call finds them."""
    return {
        (route.method, route.endpoint): (route.key, RIGHTS[route.key])
        for route in routes_of(app)
        if route.key in RIGHTS
    }

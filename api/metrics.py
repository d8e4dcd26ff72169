"""Figures of the running service in the format of Prometheus.

Calls are counted by the pattern of their route, never by their address: that may hold a secret,
and there are as many addresses as customers.
"""

from __future__ import annotations

from prometheus_client import (
    CollectorRegistry,
    Counter,
    Gauge,
    Histogram,
    PlatformCollector,
    ProcessCollector,
    generate_latest,
)

from api.jobs.job import JobState
from api.jobs.queue import Jobs

# Seconds; the promise for a technician's day is 0.15.
BUCKETS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.15, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)


class Metrics:
    """What is counted and timed; one for each service."""

    def __init__(self) -> None:
        self._registry = CollectorRegistry()
        ProcessCollector(registry=self._registry)
        PlatformCollector(registry=self._registry)
        self._calls = Histogram(
            "dispatch_request_seconds",
            "Duration of calls until their answer has left.",
            ("method", "route", "status"),
            buckets=BUCKETS,
            registry=self._registry,
        )
        self._database_errors = Counter(
            "dispatch_database_errors",
            "Calls that the database failed, by what was the matter.",
            ("code",),
            registry=self._registry,
        )
        self._jobs = Gauge(
            "dispatch_jobs",
            "The latest jobs by kind and state.",
            ("kind", "state"),
            registry=self._registry,
        )

    def count_call(self, method: str, route: str, status: int, seconds: float) -> None:
        """Count a call that was answered."""
        self._calls.labels(method, route, f"{status // 100}xx").observe(seconds)

    def count_database_error(self, code: str) -> None:
        """Count a call that the database failed."""
        self._database_errors.labels(code).inc()

    def text(self, jobs: Jobs) -> bytes:
        """All figures as they are now."""
        self._jobs.clear()
        for job in jobs.all():
            if not job.state.is_over or job.state is JobState.FAILED:
                self._jobs.labels(job.kind, job.state).inc()
        return generate_latest(self._registry)

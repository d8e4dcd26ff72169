"""Jobs of all kinds: state, stop, live progress."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterable
from typing import Annotated

from fastapi import APIRouter, Depends
from fastapi.concurrency import run_in_threadpool
from fastapi.sse import EventSourceResponse, ServerSentEvent

from api.deps import JobsDep
from api.jobs.job import Job
from api.schemas.job import JobOut, job_out

router = APIRouter(prefix="/jobs", tags=["jobs"])

LOOK_S = 0.25  # seconds between two looks at a job: faster than a person reads a figure


@router.get("")
def list_jobs(jobs: JobsDep) -> list[JobOut]:
    """The latest jobs, newest first."""
    return [job_out(job) for job in jobs.all()]


@router.get("/{job_id}")
def show_job(job_id: str, jobs: JobsDep) -> JobOut:
    """One job."""
    return job_out(jobs.job(job_id))


@router.post("/{job_id}/stop")
def stop_job(job_id: str, jobs: JobsDep) -> JobOut:
    """Stop a job; of a plan the best found so far is kept, of a map the old one stays."""
    return job_out(jobs.stop(job_id))


def job_there(job_id: str, jobs: JobsDep) -> Job:
    """The job to be watched; an answer that has begun could not say any more that there is none."""
    return jobs.job(job_id)


@router.get("/{job_id}/events", response_class=EventSourceResponse)
async def watch_job(
    job_id: str, jobs: JobsDep, job: Annotated[Job, Depends(job_there)]
) -> AsyncIterable[ServerSentEvent]:
    """Each change of a job as a server-sent event named `job`, until the job is over."""
    yield ServerSentEvent(data=job_out(job), event="job")
    while not job.state.is_over:
        await asyncio.sleep(LOOK_S)
        now = await run_in_threadpool(jobs.job, job_id)
        if now != job:
            yield ServerSentEvent(data=job_out(now), event="job")
            job = now

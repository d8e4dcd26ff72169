from __future__ import annotations

import os
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest

from api.jobs.compiling import COMPILING, SearchCompiler
from tests.api.jobs.waiting import PATIENCE_S
from tests.town import TODAY, WEEK, Company


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="processes are looked for in /proc")
def test_a_plan_says_that_the_search_is_being_compiled_and_the_service_ends_it(
    planned: Company, tmp_path: Path
) -> None:
    """On a new machine that takes half a minute, in which nothing else would move.

    The service runs in a process whose cache of compiled code is empty; the compiler is not
    waited for: the job is stopped and the service closed while it works.
    """
    program = f"""
        import time
        from datetime import date
        from pathlib import Path
        from api.jobs.queue import Jobs
        from dispatch.clock import IsoWeek
        from dispatch.settings import Settings
        from dispatch.store.db import make_engine

        def compilers():
            lines = [p.read_bytes() for p in Path("/proc").glob("[0-9]*/cmdline") if readable(p)]
            return sum(b"dispatch.planning.warm" in line for line in lines)

        def readable(path):
            try:
                status = path.with_name("status").read_text()
                return f"PPid:\\t{{os.getpid()}}\\n" in status
            except OSError:
                return False

        import os
        settings = Settings(data_dir=Path({str(planned.settings.data_dir)!r}), country=None,
                            fixed_today=date.fromisoformat({TODAY.isoformat()!r}))
        jobs = Jobs(settings, make_engine(settings))
        jobs.open()
        job = jobs.plan_week(IsoWeek.parse({str(WEEK.next)!r}), seed=5, iterations=100)
        while jobs.job(job.id).line != {COMPILING!r}:
            time.sleep(0.02)
        print(compilers())
        jobs.stop(job.id)
        while not jobs.job(job.id).state.is_over:
            time.sleep(0.02)
        print(jobs.job(job.id).state, jobs.job(job.id).detail)
        jobs.close()
        print(compilers())
    """
    done = subprocess.run(  # noqa: S603 - our own words
        [sys.executable, "-c", textwrap.dedent(program)],
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[3],
        env=os.environ | {"NUMBA_CACHE_DIR": str(tmp_path / "cache")},
        timeout=PATIENCE_S,
        check=False,
    )
    during, outcome, after = done.stdout.splitlines()
    assert (during, after) == ("1", "0")
    assert outcome.startswith("stopped ")
    assert "while the search was still being compiled; nothing was changed" in outcome


def test_what_is_compiled_is_not_compiled_again(planned: Company) -> None:
    """The planned week of the fixture compiled the search, here or in an earlier run."""
    compiler = SearchCompiler()
    compiler.begin()
    end = time.monotonic() + PATIENCE_S
    while not compiler.is_done and time.monotonic() < end:
        assert not compiler.is_compiling
        time.sleep(0.01)
    assert compiler.is_done
    compiler.end()

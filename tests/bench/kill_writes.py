"""Kill -9 at random moments while actions are written: is the database whole, is any half done?

A process imports holds, two at a time, each import one action, and tells of each that came back.
It is killed after a random time, again and again. `python -m tests.bench.kill_writes --kills 200`
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import random
import signal
import sqlite3
import tempfile
import time
from contextlib import closing
from dataclasses import dataclass
from datetime import date, timedelta
from multiprocessing.connection import Connection
from pathlib import Path

from dispatch.actions.book import import_holds
from dispatch.settings import Settings
from dispatch.store.book import read_holds
from dispatch.store.db import make_engine, transaction
from tests.town import fill_book, open_company

FIRST_DAY = date(2027, 1, 4)
LONGEST_S = 0.4  # a process is killed after at most this time


@dataclass(frozen=True)
class Outcome:
    """What the kills did; the last three must be 0."""

    kills: int
    actions: int
    damaged: int
    half_done: int
    lost: int  # told as done, and not there afterwards


def run(folder: Path, kills: int, seed: int = 1) -> Outcome:
    """Kill a writing process so many times and look at the database after each."""
    company = open_company(folder)
    fill_book(company)
    company.engine.dispose()
    moments = random.Random(seed)
    damaged = half_done = lost = told = 0
    for _ in range(kills):
        told = max(told, _write_and_kill(company.settings, told, moments.uniform(0.02, LONGEST_S)))
        damaged += not _is_whole(company.settings)
        pairs = _pairs(company.settings)
        half_done += sum(count != 2 for count in pairs.values())
        lost += sum(number not in pairs for number in range(told))
        told = max(told, len(pairs))
    return Outcome(kills, told, damaged, half_done, lost)


def _write_and_kill(settings: Settings, first: int, after_s: float) -> int:
    """Actions that the process told as done before it was killed."""
    forking = multiprocessing.get_context("fork")
    ours, theirs = forking.Pipe(duplex=False)
    process = forking.Process(target=_write, args=(settings, first, theirs), daemon=True)
    process.start()
    theirs.close()
    ours.recv()  # it has begun
    time.sleep(after_s)
    os.kill(process.pid or 0, signal.SIGKILL)
    process.join()
    told = first
    try:
        while True:
            told = ours.recv() + 1
    except EOFError:
        return told


def _write(settings: Settings, first: int, pipe: Connection) -> None:
    engine = make_engine(settings)
    pipe.send(-1)
    number = first
    while True:
        day = FIRST_DAY + timedelta(days=number)
        rows = [f"{site},{day},{day},action {number}" for site in ("S2", "S3")]
        table = "\n".join(["site_id,first_day,last_day,reason", *rows])
        with transaction(engine) as session:
            import_holds(session, settings, table)
        pipe.send(number)
        number += 1


def _is_whole(settings: Settings) -> bool:
    with closing(sqlite3.connect(settings.data_dir / "dispatch.sqlite")) as opened:
        said = opened.execute("PRAGMA integrity_check").fetchone()
        loose = opened.execute("PRAGMA foreign_key_check").fetchall()
    return bool(said == ("ok",)) and not loose


def _pairs(settings: Settings) -> dict[int, int]:
    """Holds of each action by its number."""
    engine = make_engine(settings)
    with transaction(engine, read_only=True) as session:
        holds = read_holds(session)
    engine.dispose()
    found: dict[int, int] = {}
    for hold in holds:
        if hold.reason.startswith("action "):
            number = int(hold.reason.removeprefix("action "))
            found[number] = found.get(number, 0) + 1
    return found


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--kills", type=int, default=200)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        outcome = run(Path(place), given.kills)
    print(f"{outcome.kills} kills while {outcome.actions} actions were written:", end=" ")
    print(f"{outcome.damaged} times damaged, {outcome.half_done} half done, {outcome.lost} lost")

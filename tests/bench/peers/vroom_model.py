"""VROOM: every visit a job, every truck-day a vehicle with its meal as a break.

Jobs have no alternatives: upkeep is told to it as fixed, done wherever doing it is cheaper than
putting it off. It ends by itself, often in less time than the others get; it knows the clock on the
wall alone and so may take a multiple of their seconds.
"""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import vroom

from dispatch.planning.problem import Cell, Problem
from dispatch.planning.search import Assignment
from tests.bench.peers.options import (
    UNITS_PER_KG,
    Option,
    assignment_of,
    midnight_s,
    options_of,
)

THOROUGH = 5  # its highest level of exploration
PATIENCE = 4  # times the seconds of the others that it may take on the wall's clock


def solve(problem: Problem, seconds: float, seed: int) -> Assignment:
    """The answer it gives; it draws no random numbers."""
    chosen = [options[0] for options in options_of(problem)]
    words = {skill for one in chosen for skill in one.skills}
    words |= {f"only {one.technician_id}" for one in chosen if one.technician_id}
    skill = {word: n + 1 for n, word in enumerate(sorted(words))}
    week = vroom.Input()
    week.set_durations_matrix("car", problem.drive_s.astype(np.uint32))
    week.add_vehicle([_vehicle(problem, n, cell, skill) for n, cell in enumerate(problem.cells)])
    week.add_job([_job(n, one, skill) for n, one in enumerate(chosen)])
    answer = week.solve(
        exploration_level=THOROUGH, nb_threads=1, timeout=timedelta(seconds=PATIENCE * seconds)
    )
    orders: dict[int, list[Option]] = {n: [] for n in range(len(problem.cells))}
    for row in answer.to_dict()["routes"]:
        jobs = [step["id"] for step in row["steps"] if step["type"] == "job"]
        orders[row["vehicle"]] = [chosen[n] for n in jobs]
    return assignment_of(problem, orders.items())


def _vehicle(problem: Problem, number: int, cell: Cell, skill: dict[str, int]) -> vroom.Vehicle:
    midnight = midnight_s(problem, cell.day)
    has = {*cell.skills, f"only {cell.technician_id}"}
    breaks = []
    if meal := cell.meal_in_shift:
        span = vroom.TimeWindow(midnight + meal.earliest_s, midnight + meal.latest_s)
        breaks = [vroom.Break(number, [span], service=60 * meal.minutes)]
    return vroom.Vehicle(
        number,
        start=cell.start,
        end=cell.end,
        capacity=[round(cell.payload_kg * UNITS_PER_KG)],
        skills={n for word, n in skill.items() if word in has},
        time_window=vroom.TimeWindow(midnight + cell.shift.start_s, midnight + cell.shift.end_s),
        breaks=breaks,
    )


def _job(number: int, one: Option, skill: dict[str, int]) -> vroom.Job:
    needed = {skill[word] for word in one.skills}
    if one.technician_id:
        needed.add(skill[f"only {one.technician_id}"])
    return vroom.Job(
        number,
        location=one.place,
        default_service=one.service_s,
        delivery=[one.load],
        skills=needed,
        time_windows=[vroom.TimeWindow(begin, end) for begin, end in one.windows],
    )

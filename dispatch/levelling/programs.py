"""The programs of levelling: choices as columns, jobs, weeks and truck-days as rows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from dispatch.levelling.choices import BANDS, HEAVY_KG, left_out_price
from dispatch.levelling.program import Program, Stop, run
from dispatch.levelling.values import Choice, Job, Room


@dataclass(frozen=True, slots=True)
class Solved:
    """The choice taken for each job (None: left out), the cost and the bound."""

    taken: Mapping[int, Choice | None]
    cost: float
    bound: float


@dataclass(frozen=True, slots=True)
class Programs:
    """Builds and solves the programs of technicians."""

    jobs: Sequence[Job]
    rooms: Sequence[Room]
    should_stop: Stop

    def in_whole(self, by_job: Mapping[int, Sequence[Choice]]) -> Solved:
        """A choice for each of the jobs, or none where that is cheaper than the harm it does."""
        program, columns = self._program(by_job)
        found = run(program, self.should_stop)
        taken: dict[int, Choice | None] = dict.fromkeys(by_job)
        for choice, column in columns:
            if found.values[column] > 0.5:
                taken[choice.job] = choice
        return Solved(taken, found.cost, found.bound)

    def _program(
        self, by_job: Mapping[int, Sequence[Choice]]
    ) -> tuple[Program, list[tuple[Choice, int]]]:
        program = Program()
        columns: list[tuple[Choice, int]] = []
        for number, found in by_job.items():
            own = [(one, program.column(one.price, 1, whole=True)) for one in found]
            columns += own
            left_out = program.column(left_out_price(self.jobs[number]), 1, whole=True)
            program.row(1, 1, [*((column, 1.0) for _, column in own), (left_out, 1.0)])
        _add_rooms(program, self.jobs, self.rooms, columns)
        _add_trucks(program, self.jobs, self.rooms, columns)
        return program, columns


def _add_rooms(
    program: Program,
    jobs: Sequence[Job],
    rooms: Sequence[Room],
    columns: Sequence[tuple[Choice, int]],
) -> None:
    """Minutes of a week fill its bands, the cheap one first; beyond the last there is no room."""
    entries: dict[int, list[tuple[int, float]]] = defaultdict(list)
    for choice, column in columns:
        entries[choice.room].append((column, float(jobs[choice.job].minutes)))
    for room, found in entries.items():
        bands = [
            (program.column(price, share * rooms[room].room_min, whole=False), -1.0)
            for share, price in BANDS
        ]
        program.row(-np.inf, 0, [*found, *bands])


def _add_trucks(
    program: Program,
    jobs: Sequence[Job],
    rooms: Sequence[Room],
    columns: Sequence[tuple[Choice, int]],
) -> None:
    """What a truck takes on one day stays within its payload."""
    entries: dict[tuple[int, int], list[tuple[int, float]]] = defaultdict(list)
    for choice, column in columns:
        mass_kg = jobs[choice.job].mass_kg
        if mass_kg >= HEAVY_KG:
            entries[choice.room, choice.day.toordinal()].append((column, mass_kg))
    for (room, _), found in entries.items():
        if len(found) > 1:
            program.row(-np.inf, rooms[room].payload_kg, found)

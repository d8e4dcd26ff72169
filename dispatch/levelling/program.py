"""A mixed-integer program: its columns and rows while they are collected, and its solution."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace

import highspy
import numpy as np
import numpy.typing as npt

from dispatch.errors import Cancelled
from dispatch.words import _

GAP = 0.005  # share of the cost at which a program is good enough
SEED = 1
# What a column may cost above the relaxed solution: more than is lost by whole jobs where weeks are
# not nearly full (measured: up to 6 % of the cost), yet it halves the columns.
CUTOFF, CUTOFF_SHARE = 5.0, 0.1
LONGEST_S = 15.0  # seconds for the weeks of one technician, then its best so far; usual: 0.2 to 4
Values = npt.NDArray[np.float64]
Stop = Callable[[], bool]


@dataclass(slots=True)
class Program:
    """Columns and rows of one group while they are collected."""

    price: list[float] = field(default_factory=list)
    most: list[float] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    starts: list[int] = field(default_factory=list)
    index: list[int] = field(default_factory=list)
    value: list[float] = field(default_factory=list)

    def column(self, price: float, most: float, *, whole: bool) -> int:
        """Add a column from 0 to `most`, whole numbers alone or not; says its number."""
        if whole:
            self.whole.append(len(self.price))
        self.price.append(price)
        self.most.append(most)
        return len(self.price) - 1

    def row(self, low: float, high: float, entries: Iterable[tuple[int, float]]) -> int:
        """Add a row of columns and factors whose sum lies from `low` to `high`; its number."""
        self.starts.append(len(self.index))
        self.low.append(low)
        self.high.append(high)
        for column, value in entries:
            self.index.append(column)
            self.value.append(value)
        return len(self.low) - 1


class _Quiet(highspy.Highs):
    """HiGHS without the lines it prints when callbacks are switched on, which it does at once."""

    def __init__(self) -> None:
        super(highspy.Highs, self).__init__()  # the solver itself, as its own wrapper does
        self.setOptionValue("output_flag", False)
        kinds = range(int(highspy.cb.HighsCallbackType.kCallbackMax) + 1)
        self.callbacks = [
            highspy.highs.HighsCallback(highspy.cb.HighsCallbackType(kind), self) for kind in kinds
        ]
        self.enableCallbacks()  # type: ignore[no-untyped-call]


@dataclass(frozen=True, slots=True)
class Solution:
    """Values of the columns, the cost, and what none can go below."""

    values: Values
    cost: float
    bound: float


def run(program: Program, should_stop: Stop) -> Solution:
    """Solve a program to within GAP.

    It is first solved with numbers of any kind in place of whole ones. A column whose reduced
    cost there is above a cutoff is then left out: whoever uses it pays at least that much more than
    the relaxed cost. Where whole numbers turn out to cost more than that, all columns take part.

    Raises
    ------
    Cancelled
        When `should_stop` says yes.
    """
    relaxed = _solver(program, np.array(program.most), whole=False)
    _run(relaxed, should_stop)
    solution = relaxed.getSolution()
    cost = float(relaxed.getInfo().objective_function_value)
    cutoff = CUTOFF + CUTOFF_SHARE * cost
    most = np.array(program.most)
    whole = np.array(program.whole)
    dear = whole[np.array(solution.col_dual)[whole] > cutoff]
    most[dear] = 0.0
    found = _whole(program, most, should_stop)
    if not len(dear):
        return found
    if found.cost > cost + cutoff:  # what was left out might be cheaper after all
        return _whole(program, np.array(program.most), should_stop)
    return replace(found, bound=min(found.bound, cost + cutoff))


def _whole(program: Program, most: Values, should_stop: Stop) -> Solution:
    solver = _solver(program, most, whole=True)
    _run(solver, should_stop)
    info = solver.getInfo()
    values = np.array(solver.getSolution().col_value)
    return Solution(values, float(info.objective_function_value), float(info.mip_dual_bound))


def _run(solver: highspy.Highs, should_stop: Stop) -> None:
    def look(event: highspy.highs.HighsCallbackEvent) -> None:
        if should_stop():
            event.interrupt()

    solver.cbMipInterrupt.subscribe(look)
    if not should_stop():
        solver.run()
    if should_stop():
        raise Cancelled(
            _("Spreading the upkeep was stopped; the weeks set before stay as they are.")
        )


def _solver(program: Program, most: Values, *, whole: bool) -> highspy.Highs:
    count = len(program.price)
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = count, len(program.low)
    model.col_cost_ = np.array(program.price)
    model.col_lower_ = np.zeros(count)
    model.col_upper_ = most
    model.row_lower_, model.row_upper_ = np.array(program.low), np.array(program.high)
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.array([*program.starts, len(program.index)], dtype=np.int32)
    model.a_matrix_.index_ = np.array(program.index, dtype=np.int32)
    model.a_matrix_.value_ = np.array(program.value)
    if whole:
        kinds = [highspy.HighsVarType.kContinuous] * count
        for column in program.whole:
            kinds[column] = highspy.HighsVarType.kInteger
        model.integrality_ = kinds
    solver = _Quiet()
    for name, value in (
        ("mip_rel_gap", GAP),
        ("random_seed", SEED),
        ("time_limit", LONGEST_S),
    ):
        solver.setOptionValue(name, value)
    solver.passModel(model)
    return solver

"""One small week planned by the search and by the exact model."""

from __future__ import annotations

from dataclasses import dataclass

from dispatch.planning.check import violations
from dispatch.planning.problem import Problem
from dispatch.planning.score import cost_s
from dispatch.planning.week import plan_problem, write_plan
from tests.planning.exact.model import optimum

ROUNDS = 10_000  # of the search; a small week takes a quarter of a second


@dataclass(frozen=True, slots=True)
class Agreement:
    """Costs of one week: the proven least, and what the search found and believed, in seconds.

    `proof_cost_s` is what our score makes of the exact model's plan and `proof_broken` the rules
    that our check finds broken in it.
    """

    least_s: int
    found_s: int
    believed_s: int
    proof_cost_s: int
    proof_broken: int

    @property
    def same_rules(self) -> bool:
        """Whether check and score see the exact model's plan as the model does."""
        return self.proof_broken == 0 and self.proof_cost_s == self.least_s


def compare(week: Problem, seed: int = 1, rounds: int = ROUNDS) -> Agreement:
    """Plan a week both ways."""
    least_s, assignment = optimum(week)
    proof = write_plan(week, assignment, seed=0)
    plan = plan_problem(week, seed=seed, iterations=rounds)
    return Agreement(
        least_s=least_s,
        found_s=cost_s(week, plan),
        believed_s=plan.cost_s,
        proof_cost_s=cost_s(week, proof),
        proof_broken=len(violations(week, proof)),
    )

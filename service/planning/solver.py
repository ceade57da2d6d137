"""One way to the solver: a model of whole or continuous numbers in, the best values found and a proven bound out.

The solver is HiGHS (highspy). It never prints: its own output is switched off before anything is passed to it.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

Status = Literal["optimal", "feasible", "infeasible", "no_answer"]
"""``feasible``: stopped with a solution that is not proven best; ``no_answer``: stopped before there was one."""
Terms = Mapping[int, float]
"""Variable -> its weight in a row."""
NO_END = float("inf")


@dataclass
class Model:
    """Variables with bounds and costs, and rows over them; the sum of the costs is made as small as can be."""

    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)
    cost: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[float, Terms, float]] = field(default_factory=list)

    def variable(self, lower: float = 0, upper: float = NO_END, cost: float = 0, *, whole: bool = False) -> int:
        """A new variable; its number."""
        self.lower.append(lower)
        self.upper.append(upper)
        self.cost.append(cost)
        self.whole.append(whole)
        return len(self.lower) - 1

    def choice(self, cost: float = 0) -> int:
        """A variable that is 0 or 1."""
        return self.variable(0, 1, cost, whole=True)

    def row(self, terms: Terms, at_least: float = -NO_END, at_most: float = NO_END) -> int:
        """A new row: the weighted sum lies between two ends; its number."""
        self.rows.append((at_least, terms, at_most))
        return len(self.rows) - 1


class Progress(NamedTuple):
    """How far the solver is: seconds, the best sum of costs found so far, and the least that is possible."""

    seconds: float
    best: float | None
    bound: float


class Solution(NamedTuple):
    """The values of the variables (empty without a solution), the sum of their costs, and the proven least sum.

    ``duals``: of each row, by how much the sum grows with its bounds; only where no variable is whole.
    """

    status: Status
    values: tuple[float, ...]
    cost: float
    bound: float
    duals: tuple[float, ...] = ()

    def whole(self, variable: int) -> int:
        """The value of a whole variable; the solver's is off by up to a millionth."""
        return round(self.values[variable])

    @property
    def gap(self) -> float:
        """How much less, as a share of the cost found, might still be possible."""
        return 0.0 if self.cost == self.bound else abs(self.cost - self.bound) / max(abs(self.cost), 1e-9)


def solve(
    model: Model,
    *,
    seconds: float,
    gap: float = 0.0,
    near: float = 0.0,
    start: Mapping[int, float] | None = None,
    jump: bool = True,
    tick: Callable[[Progress], bool] | None = None,
) -> Solution:
    """Solve a model; stopped by the clock it gives the best it has.

    Parameters
    ----------
    seconds: how long it may take. gap: the share of the cost within which it may stop (0: proven best). near: the
    same as a part of the cost itself.
    start: values of a solution that is known, to begin from. jump: whether it begins with a feasibility jump: that takes longer
    than all the rest of a small model, and what it finds where nearly anything is allowed leads later steps astray. tick: told the progress now and then; True stops.

    Source: HiGHS, https://highs.dev (branch and cut for whole numbers, simplex for the rest).

    >>> model = Model()
    >>> apples = model.variable(cost=3, whole=True)
    >>> pears = model.variable(cost=2, upper=2, whole=True)
    >>> _ = model.row({apples: 1, pears: 1}, at_least=3)
    >>> found = solve(model, seconds=5)
    >>> found.status, found.whole(apples), found.whole(pears), found.cost
    ('optimal', 1, 2, 7.0)
    """
    import highspy  # slow to load, and only what plans needs it
    import numpy as np

    solver = highspy.Highs()  # type: ignore[no-untyped-call]  # its constructor carries no types
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("time_limit", float(seconds))
    solver.setOptionValue("mip_heuristic_run_feasibility_jump", jump)
    solver.setOptionValue("mip_rel_gap", float(gap))
    solver.setOptionValue("mip_abs_gap", near or (0.0 if gap == 0 else 1e-6))
    problem = highspy.HighsLp()
    problem.num_col_ = len(model.lower)
    problem.num_row_ = len(model.rows)
    problem.col_cost_ = np.array(model.cost, dtype=float)
    problem.col_lower_ = np.array(model.lower, dtype=float)
    problem.col_upper_ = np.array(model.upper, dtype=float)
    problem.row_lower_ = np.array([low for low, _terms, _high in model.rows], dtype=float)
    problem.row_upper_ = np.array([high for _low, _terms, high in model.rows], dtype=float)
    kind = highspy.HighsVarType
    problem.integrality_ = [kind.kInteger if whole else kind.kContinuous for whole in model.whole]
    problem.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    starts = np.cumsum([0, *(len(terms) for _low, terms, _high in model.rows)])
    problem.a_matrix_.start_ = starts.astype(np.int32)
    problem.a_matrix_.index_ = np.array([one for _low, terms, _high in model.rows for one in terms], dtype=np.int32)
    problem.a_matrix_.value_ = np.array(
        [weight for _low, terms, _high in model.rows for weight in terms.values()], dtype=float
    )
    solver.passModel(problem)
    if start is not None:
        columns = np.array(list(start), dtype=np.int32)
        solver.setSolution(len(columns), columns, np.array(list(start.values()), dtype=float))
    if tick is not None:
        told = tick

        def interrupt(event: highspy.HighsCallbackEvent) -> None:
            out = event.data_out
            best = out.mip_primal_bound
            if told(Progress(out.running_time, best if abs(best) < highspy.kHighsInf else None, out.mip_dual_bound)):
                event.interrupt()

        solver.cbMipInterrupt += interrupt
    solver.run()
    return _solution(solver, any(model.whole))


def _solution(solver: object, whole: bool) -> Solution:
    """What the solver found, in our words."""
    import highspy

    assert isinstance(solver, highspy.Highs)  # noqa: S101 - typed here, so that the library is not loaded above
    said = solver.getModelStatus()
    states = highspy.HighsModelStatus
    if said in (states.kInfeasible, states.kUnboundedOrInfeasible):
        return Solution("infeasible", (), NO_END, NO_END)
    info = solver.getInfo()
    if info.primal_solution_status != highspy.kSolutionStatusFeasible:
        return Solution("no_answer", (), NO_END, info.mip_dual_bound if whole else -NO_END)
    cost = float(info.objective_function_value)
    bound = float(info.mip_dual_bound) if whole else cost
    status: Status = "optimal" if said == states.kOptimal else "feasible"
    values = solver.getSolution()
    duals = () if whole else tuple(values.row_dual)
    return Solution(status, tuple(values.col_value), cost, bound, duals)

"""Least sum of shares that covers needs: linear programs, some of their numbers whole."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    import highspy

__all__ = ["Covering", "Solved"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Solved:
    """A linear program that was solved.

    Args:
        is_possible: whether anything keeps the rows; None where that was not found out.
        bound: proven to be the least of the sum, to the solver's rounding; -infinite if nothing is.
        values: found, shape (columns,); None without any.
        duals: price of each row, at least 0, shape (rows,); of no meaning where some are whole.
    """

    is_possible: bool | None
    bound: float
    values: Floats | None
    duals: Floats


@dataclass(frozen=True, eq=False)
class Covering:
    """Equation: least sum of cost x with rows x >= needed and x >= low.

    Args:
        rows: shape (rows, columns).
        needed: of each row, shape (rows,).
        cost: of each column, shape (columns,).
        low: least of each column, shape (columns,); 0 if none is given.
        is_whole: columns that are whole numbers, shape (columns,); none if none are given.
        options: of the solver, by its names.
    """

    rows: Floats
    needed: Floats
    cost: Floats
    low: Floats | None = None
    is_whole: NDArray[np.bool_] | None = None
    options: Mapping[str, float | int | str] = field(default_factory=dict)

    def solved(self) -> Solved:
        """The least sum.

        Source: dual simplex, and branch and bound, of the HiGHS library; Huangfu & Hall,
            Mathematical Programming Computation 10 (2018) 119.
        """
        # SciPy brings the same solver, but takes far longer to load than to solve.
        import highspy

        solver = highspy.Highs()  # type: ignore[no-untyped-call]
        for name, value in {"output_flag": False, "threads": 1, **self.options}.items():
            solver.setOptionValue(name, value)
        solver.passModel(self._model())
        solver.run()
        status, solution = solver.getModelStatus(), solver.getSolution()
        optimal = status == highspy.HighsModelStatus.kOptimal
        possible: bool | None = True if solution.value_valid else None
        if status == highspy.HighsModelStatus.kInfeasible:
            possible = False
        bound = -np.inf
        if self.is_whole is not None:
            bound = float(solver.getInfo().mip_dual_bound)
        elif optimal:
            bound = float(solver.getInfo().objective_function_value)
        return Solved(
            is_possible=possible,
            bound=bound if np.isfinite(bound) else -np.inf,
            values=np.array(solution.col_value) if solution.value_valid else None,
            duals=np.maximum(np.array(solution.row_dual), 0.0),
        )

    def _model(self) -> highspy.HighsLp:
        import highspy

        count, columns = self.rows.shape
        model = highspy.HighsLp()
        model.num_row_, model.num_col_ = count, columns
        model.col_cost_ = self.cost
        model.col_lower_ = np.zeros(columns) if self.low is None else self.low
        model.col_upper_ = np.full(columns, np.inf)
        model.row_lower_, model.row_upper_ = self.needed, np.full(count, np.inf)
        row, column = np.nonzero(self.rows)
        matrix = model.a_matrix_
        matrix.format_ = highspy.MatrixFormat.kRowwise
        matrix.start_ = np.searchsorted(row, np.arange(count + 1)).astype(np.int32)
        matrix.index_, matrix.value_ = column.astype(np.int32), self.rows[row, column]
        if self.is_whole is not None:
            kinds = highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger
            model.integrality_ = [kinds[int(each)] for each in self.is_whole]
        return model

"""A tensile test from a CSV file, and the film curve fitted to it."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from woold.errors import InputError, Problem, UnitError, fields_renamed
from woold.physics.film import natural_draw_stretch
from woold.physics.film_fit import LARGEST_EXTENSIBILITY, HawardFit, fit_haward
from woold.physics.film_points import PointsCurve
from woold.physics.tensile_test import FIT_FROM, curve_points
from woold.prediction.result import CAUTIONS, Finding
from woold.rows.told import Told
from woold.units import parse_quantity, show
from woold.words import say, to_say

__all__ = ["FilmFitReport", "FilmParameter", "TensileTest", "fit_film", "read_tensile_test"]

Array = npt.NDArray[np.float64]

_LARGEST_FILE = 10_000_000
_MOST_PROBLEMS = 20
_HEADER = re.compile(r"\s*([A-Za-z][A-Za-z -]*?)\s*[\[(]\s*([^\])]*?)\s*[\])]\s*")
_COLUMNS = {
    "elongation": "elongation",
    "strain": "elongation",
    "stress": "stress",
    "force": "force",
}
_ALLOWED = to_say(
    "a CSV file whose first line names its columns with units: elongation [%], stress [MPa]; or"
    " elongation [%], force [N]"
)


@dataclass(frozen=True, slots=True)
class TensileTest:
    """Points of a tensile test along the machine direction.

    Args:
        stretches: stretch ratios, rising, shape (n,) [-].
        stresses: force over unstretched section, shape (n,) [Pa].
        left_out: points that were not used: before the start, after the break, or not rising.
    """

    stretches: Array
    stresses: Array
    left_out: int


def read_tensile_test(
    path: Path | str, specimen_width: float | None = None, specimen_thickness: float | None = None
) -> TensileTest:
    """Points of a tensile test from a CSV file.

    Columns are found by name: elongation (or strain) and stress (or force), each with its unit in
    brackets. Commas, semicolons or tabs part them; with semicolons or tabs a decimal comma is read.
    Lines that begin with # are left out, and so are points after the highest stress.

    Args:
        path: the file.
        specimen_width, specimen_thickness: of the specimen, where the file has forces [m].

    Raises:
        InputError: a file that cannot be read, columns or units that are missing, cells that are
            no numbers; one problem for each line.
    """
    rows = _rows(Path(path))
    columns = _columns(str(path), rows[0][1])
    scale = 1.0
    if "force" in columns:
        missing = [
            Problem(
                name,
                say("nothing"),
                say("the specimen's size, as the file has forces"),
                say('Add {name} "..."', name=name),
            )
            for name, size in (("--width", specimen_width), ("--thickness", specimen_thickness))
            if size is None
        ]
        if missing or specimen_width is None or specimen_thickness is None:
            raise InputError.many(missing)
        scale = specimen_width * specimen_thickness
    points = _points(str(path), rows[1:], columns)
    stretches, stresses = points[:, 0], points[:, 1] / scale
    last = int(np.argmax(stresses))
    rising = np.maximum.accumulate(np.concatenate(([-np.inf], stretches[:-1]))) < stretches
    use = rising & (np.arange(len(stretches)) <= last) & (stretches >= 1.0)
    return TensileTest(stretches[use], stresses[use], int(np.count_nonzero(~use)))


def _rows(path: Path) -> list[tuple[int, list[str]]]:
    """Cells of every line that holds any, with its number."""
    try:
        with path.open("rb") as stream:
            raw = stream.read(_LARGEST_FILE + 1)
    except OSError as error:
        raise InputError.one(
            str(path), error.strerror or say("cannot be read"), say(_ALLOWED)
        ) from None
    if len(raw) > _LARGEST_FILE:
        raise InputError.one(
            str(path), say("more than 10 MB"), say(_ALLOWED), say("Is it the right file?")
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError.one(
            str(path), say("not UTF-8 text"), say(_ALLOWED), say("Save it as CSV, UTF-8.")
        ) from None
    lines = [
        (number, line)
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if len(lines) < 2:
        raise InputError.one(str(path), say("fewer than two lines"), say(_ALLOWED))
    header = lines[0][1]
    mark = next((mark for mark in ("\t", ";", ",") if mark in header), ",")
    cells = csv.reader((line for _, line in lines), delimiter=mark)
    decimal = "," if mark in "\t;" else "."
    return [
        (number, [cell.strip().replace(decimal, ".") if at else cell for cell in row])
        for at, ((number, _), row) in enumerate(zip(lines, cells, strict=True))
    ]


def _columns(path: str, header: Sequence[str]) -> dict[str, tuple[int, str]]:
    """Place and unit of each column that counts, by kind of quantity."""
    columns: dict[str, tuple[int, str]] = {}
    for place, cell in enumerate(header):
        match = _HEADER.fullmatch(cell)
        kind = _COLUMNS.get(match[1].lower()) if match else None
        if match is None or kind is None:
            continue
        if kind in columns:
            raise InputError.one(
                path, say("two columns of {kind}", kind=kind), say(_ALLOWED), say("Take one out.")
            )
        columns[kind] = (place, match[2] or "1")
    if "elongation" not in columns or ("stress" in columns) == ("force" in columns):
        found = ", ".join(cell.strip() for cell in header)
        given = say("columns {names}", names=found[:190])
        raise InputError.one(path, given, say(_ALLOWED), say("Name them in line 1."))
    return columns


def _points(
    path: str, rows: Sequence[tuple[int, list[str]]], columns: dict[str, tuple[int, str]]
) -> Array:
    """Stretch ratio and stress (or force) of each line, SI."""
    points, problems = [], []
    for number, cells in rows:
        point = []
        where = say("{file} line {number}", file=path, number=number)
        for kind, (place, unit) in sorted(columns.items()):
            cell = cells[place] if place < len(cells) else ""
            try:
                # A plain number counts as a share: 0.5 is 50 %.
                text = f"{cell} {unit}" if unit not in ("1", "-") else f"{100 * float(cell)} %"
                point.append(parse_quantity(text, kind, where))
            except ValueError:
                problems.append(Problem(where, repr(cell), say("a number in {unit}", unit=unit)))
            except UnitError as error:
                problems += error.problems
        points.append(point)
        if len(problems) >= _MOST_PROBLEMS:
            break
    if problems:
        raise InputError.many(problems[:_MOST_PROBLEMS])
    return np.array(points)


@dataclass(frozen=True, slots=True)
class FilmParameter:
    """A film parameter from the test; ``low`` to ``high`` is two standard errors either way."""

    field: str
    kind: str
    value: float
    standard_error: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, repr=False)
class FilmFitReport(Told):
    """A film curve fitted to a tensile test, SI.

    ``curve`` is stretch and stress of points that stand for the test, the toe taken off; where the
    test is of another shape than the law, ``values`` is empty and the points are all there is.
    """

    told_as = "film-fit"
    told_by = "woold.carriages.film_fit_rows:film_fit_blocks"

    source: str
    points: int
    points_used: int
    points_left_out: int
    fit_from_stretch: float
    values: tuple[FilmParameter, ...]
    residual_deviation_pa: float
    determination: float
    toe: float
    curve: tuple[tuple[float, float], ...]
    natural_draw_stretch: float
    largest_tested_stretch: float
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS

    def to_json(self) -> dict[str, Any]:
        """The JSON document of this fit."""
        return asdict(self) | {"cautions": [say(each) for each in self.cautions]}

    def to_toml(self) -> str:
        """Lines for a case's [film]."""
        if not self.values:
            elongations = ", ".join(f'"{100 * (each - 1):.4g} %"' for each, _ in self.curve)
            stresses = ", ".join(f'"{1e-6 * each:.4g} MPa"' for _, each in self.curve)
            return f"test_elongations = [{elongations}]\ntest_stresses = [{stresses}]"
        units = {"stress": ("MPa", 1e-6), "ratio": ("", 1.0)}
        lines = []
        origin = _quotable(say("fitted to {source}", source=self.source))
        for each in self.values:
            unit, factor = units[each.kind]
            value, low, high = (
                f"{factor * number:.4g} {unit}".strip()
                for number in (each.value, each.low, each.high)
            )
            name = each.field.removeprefix("film.")
            lines.append(
                f'{name} = {{ value = "{value}", origin = "{origin}",'
                f' low = "{low}", high = "{high}" }}'
            )
        return "\n".join(lines)


def _quotable(text: str) -> str:
    return "".join(each for each in text if each.isprintable() and each not in '"\\')


def fit_film(test: TensileTest, source: str, fit_from: float = FIT_FROM) -> FilmFitReport:
    """The Haward form fitted to a tensile test.

    Args:
        test: points of the test.
        source: name of the file, to be kept as the values' origin.
        fit_from: stretch from which the specimen drew evenly [-].

    Raises:
        InputError: too few points on the drawing part, or a curve of another shape.
    """
    renamed = {name: f"{source}, {name}" for name in ("stretches", "stresses", "points")}
    with fields_renamed(renamed):
        found = fit_haward(test.stretches, test.stresses, fit_from)
    toe = found.elastic.toe if found.elastic else 0.0
    with fields_renamed(renamed):
        points = _points_of(test, toe, found.is_law)
    natural = (
        natural_draw_stretch(found.yield_stress, found.hardening_modulus, found.extensibility)
        if found.is_law
        else PointsCurve(*map(tuple, zip(*points, strict=True))).natural_draw_stretch
    )
    return FilmFitReport(
        source=source,
        points=len(test.stretches),
        points_used=found.points_used,
        points_left_out=test.left_out,
        fit_from_stretch=fit_from,
        values=tuple(_values(found)) if found.is_law else (),
        residual_deviation_pa=found.fit.residual_deviation,
        determination=found.fit.determination,
        toe=toe,
        curve=points,
        natural_draw_stretch=float(natural),
        largest_tested_stretch=float(test.stretches[-1]),
        findings=tuple(_findings(found, test)),
    )


def _points_of(test: TensileTest, toe: float, is_law: bool) -> tuple[tuple[float, float], ...]:
    """Points that stand for the test; none where a law does and the test has too few of them."""
    try:
        stretches, stresses = curve_points(test.stretches / (1.0 + toe), test.stresses)
    except InputError:
        if is_law:
            return ()
        raise
    return tuple(zip(stretches.tolist(), stresses.tolist(), strict=True))


def _values(found: HawardFit) -> list[FilmParameter]:
    names = (
        ("yield_stress", "stress"),
        ("hardening_modulus", "stress"),
        ("extensibility", "ratio"),
    )
    fit, elastic = found.fit, found.elastic
    columns = (fit.values, fit.standard_errors, found.low, found.high)
    rows = [(*name, *each) for name, *each in zip(names, *columns, strict=True)]
    if elastic is not None:
        known = (elastic.modulus, elastic.standard_error, elastic.low, elastic.high)
        rows.append(("elastic_modulus", "stress", *known))
    # A case takes no modulus below these, and no range without an end.
    least, most = {"extensibility": 2.0}, {"extensibility": LARGEST_EXTENSIBILITY}
    return [
        FilmParameter(
            field=f"film.{name}",
            kind=kind,
            value=float(value),
            standard_error=float(error),
            low=max(float(low), least.get(name, 0.01 * float(value))),
            high=min(float(high), most.get(name, math.inf)),
        )
        for name, kind, value, error, low, high in rows
    ]


def _findings(found: HawardFit, test: TensileTest) -> list[Finding]:
    findings = []
    if not found.is_law:
        findings.append(
            Finding(
                "curve_is_no_law",
                "film",
                say(
                    "The test's curve has another shape than the drawing law, which misses it by"
                    " {misfit:.1f} % of the mean stress: no moduli are given. Use the points"
                    " below, or fit from another elongation.",
                    misfit=100 * found.misfit,
                ),
            )
        )
    elif not found.locking_is_decided:
        findings.append(
            Finding(
                "extensibility_not_decided",
                "film.extensibility",
                say(
                    "The test does not go far enough to decide the extensibility: its standard"
                    " error is more than half of it. Test to the break, or keep the"
                    " placeholder."
                ),
            )
        )
    if found.elastic is None:
        findings.append(
            Finding(
                "elastic_modulus_not_fitted",
                "film.elastic_modulus",
                say(
                    "Too few points before yield to fit the elastic modulus: the placeholder stays."
                ),
            )
        )
    residuals = found.fit.residuals
    together = float(residuals[:-1] @ residuals[1:] / (residuals @ residuals))
    if len(residuals) > 10 and together > 2.0 / math.sqrt(len(residuals)):
        findings.append(
            Finding(
                "fit_misses_shape",
                "film",
                say(
                    "Neighbouring points lie on the same side of the curve (correlation"
                    " {together:.2f}): it misses the test's shape and the standard errors are"
                    " too small. Fit from another elongation, or use the points as"
                    " test_elongations.",
                    together=together,
                ),
            )
        )
    if test.left_out:
        one = to_say(
            "One point was left out: before the start, after the highest stress at {stretch}, or"
            " not rising."
        )
        more = to_say(
            "{count} points were left out: before the start, after the highest stress at"
            " {stretch}, or not rising."
        )
        message = say(
            one if test.left_out == 1 else more,
            count=test.left_out,
            stretch=show(float(test.stretches[-1]), "elongation"),
        )
        findings.append(Finding("points_left_out", "film", message))
    return findings

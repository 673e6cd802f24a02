"""The film curve fitted to a tensile test."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from woold.carriages.pasted import quotable_text
from woold.carriages.tensile_file import TensileTest
from woold.errors import InputError, fields_renamed
from woold.physics.film import natural_draw_stretch
from woold.physics.film_curve import LEAST_ELASTIC
from woold.physics.film_fit import LARGEST_EXTENSIBILITY, HawardFit, fit_haward
from woold.physics.film_points import PointsCurve
from woold.physics.tensile_test import FIT_FROM, curve_points
from woold.prediction.result import CAUTIONS, Finding
from woold.rows.told import Told
from woold.units import show
from woold.words import say, to_say

__all__ = ["FilmFitReport", "FilmParameter", "fit_film"]


@dataclass(frozen=True, slots=True)
class FilmParameter:
    """A film parameter from the test; ``low`` to ``high`` is its 95 % interval."""

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

    def to_toml(self) -> str:
        """Lines for a case's [film]."""
        if not self.values:
            elongations = ", ".join(f'"{100 * (each - 1):.4g} %"' for each, _ in self.curve)
            stresses = ", ".join(f'"{1e-6 * each:.4g} MPa"' for _, each in self.curve)
            return f"test_elongations = [{elongations}]\ntest_stresses = [{stresses}]"
        units = {"stress": ("MPa", 1e-6), "ratio": ("", 1.0)}
        lines = []
        origin = quotable_text(say("fitted to {source}", source=self.source))
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
        else _curve_of(points).natural_draw_stretch
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
        findings=(*_read_as(test, source), *_findings(found, test)),
    )


def _curve_of(points: tuple[tuple[float, float], ...]) -> PointsCurve:
    return PointsCurve(tuple(x for x, _ in points), tuple(y for _, y in points))


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
    if elastic is not None and not _elastic_is_too_soft(found):
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


def _elastic_is_too_soft(found: HawardFit) -> bool:
    """Whether a case would refuse the elastic modulus beside the flow stress, at its low end."""
    if found.elastic is None:
        return False
    most = LEAST_ELASTIC * (found.high[0] + found.high[1])
    return bool(found.elastic.low < most)


def _read_as(test: TensileTest, source: str) -> Iterator[Finding]:
    if test.read_as:
        yield Finding("read_as", source, test.read_as)


def _findings(found: HawardFit, test: TensileTest) -> list[Finding]:
    return [*_shape_findings(found), *_elastic_findings(found), *_left_out(test)]


def _shape_findings(found: HawardFit) -> Iterator[Finding]:
    if not found.is_law:
        yield Finding(
            "curve_is_no_law",
            "film",
            say(
                "The test's curve has another shape than the drawing law, which misses it by"
                " {misfit:.1f} % of the mean stress: no moduli are given. Use the points"
                " below, or fit from another elongation.",
                misfit=100 * found.misfit,
            ),
        )
        return
    if not found.locking_is_decided:
        yield Finding(
            "extensibility_not_decided",
            "film.extensibility",
            say(
                "The test does not go far enough to decide the extensibility: its standard"
                " error is more than half of it. Test to the break, or keep the"
                " placeholder."
            ),
        )
    residuals = found.fit.residuals
    together = float(residuals[:-1] @ residuals[1:] / (residuals @ residuals))
    if len(residuals) > 10 and together > 2.0 / math.sqrt(len(residuals)):
        yield Finding(
            "fit_misses_shape",
            "film",
            say(
                "Neighbouring points lie on the same side of the curve (correlation"
                " {together:.2f}): it misses the test's shape a little, and the ranges are"
                " widened for it. Fit from another elongation, or use the points as"
                " test_elongations.",
                together=together,
            ),
        )


def _elastic_findings(found: HawardFit) -> Iterator[Finding]:
    elastic = found.elastic
    if elastic is None:
        yield Finding(
            "elastic_modulus_not_fitted",
            "film.elastic_modulus",
            say("Too few points before yield to fit the elastic modulus: the placeholder stays."),
        )
        return
    if elastic.toe > 0.0:
        yield Finding(
            "toe_taken_off",
            "film",
            say(
                "The first {toe:.1f} % of elongation only took up slack (a toe); it was taken"
                " off all elongations.",
                toe=100 * elastic.toe,
            ),
        )
    if found.is_law and _elastic_is_too_soft(found):
        yield Finding(
            "elastic_modulus_too_soft",
            "film.elastic_modulus",
            say(
                "The first points rise too slowly for a film that yields where this one does,"
                " so their modulus is not given: the placeholder stays. Look for slip in the"
                " grips, or a specimen that was not straight."
            ),
        )


def _left_out(test: TensileTest) -> Iterator[Finding]:
    if test.left_out:
        one = to_say(
            "One point was left out: before the start, after the break at {stretch}, or not rising."
        )
        more = to_say(
            "{count} points were left out: before the start, after the break at {stretch}, or"
            " not rising."
        )
        message = say(
            one if test.left_out == 1 else more,
            count=test.left_out,
            stretch=show(float(test.stretches[-1]), "elongation"),
        )
        yield Finding("points_left_out", "film", message)

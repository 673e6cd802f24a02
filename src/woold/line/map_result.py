"""What a line's map says: of each carriage, machine and film the loads that work, the worst."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from woold.line.check import LineCheck
from woold.line.limits import LIMITS, STATUSES
from woold.line.map import MapRun
from woold.prediction.result import CAUTIONS, Finding
from woold.rows.told import Told

if TYPE_CHECKING:
    import polars

__all__ = ["LimitCount", "LineMap", "MapCell", "known_share", "line_map", "worst_first"]


@dataclass(frozen=True, slots=True)
class MapCell:
    """One carriage on one machine with one film.

    Args:
        works, finding, does_not: kinds of load that work, work with a finding, do not work.
        works_share: loads a year that work, with or without a finding, over all [-].
        worst_load: the load that comes farthest from working, or nearest to not working.
        worst_limit: code of what limits it; "" where nothing does.
        worst_share: of that limit, what there is over what is asked; None where no number is.
    """

    carriage: str
    machine_model: str
    film: str
    works: int
    finding: int
    does_not: int
    works_share: float
    worst_load: str
    worst_limit: str
    worst_share: float | None


@dataclass(frozen=True, slots=True)
class LimitCount:
    """How often a limit is why a combination does not work."""

    limit: str
    combinations: int


@dataclass(frozen=True, slots=True, repr=False)
class LineMap(Told):
    """The map of a line.

    Args:
        combinations: carriage x machine x film x load.
        judged: of them in this run; the rest was kept from an earlier one.
        seconds: that this run took [s].
    """

    told_as = "line-map"
    told_by = "woold.line.map_rows:map_blocks"

    title: str
    files: str
    combinations: int
    judged: int
    seconds_s: float
    works: int
    finding: int
    does_not: int
    limits: tuple[LimitCount, ...]
    cells: tuple[MapCell, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS


def line_map(check: LineCheck, run: MapRun) -> LineMap:
    """What the files of a map say.

    Args:
        check: what the line holds.
        run: which has written the map.
    """
    import polars

    frame = polars.scan_parquet(run.files.pattern())
    by_choice = _by_choice(frame)
    limits = (
        frame.filter(polars.col("status") == "does_not")
        .group_by("limit")
        .agg(polars.len().alias("combinations"))
        .collect()
    )
    counted = dict(limits.iter_rows())
    places = {
        name: {each: at for at, each in enumerate(getattr(check, names))}
        for name, names in (
            ("carriage", "carriages"),
            ("machine_model", "machine_models"),
            ("film", "films"),
        )
    }
    cells = sorted(
        (MapCell(**row) for row in by_choice.iter_rows(named=True)),
        key=lambda each: tuple(places[name][getattr(each, name)] for name in places),
    )
    totals = {status: sum(getattr(each, status) for each in cells) for status in STATUSES}
    return LineMap(
        title=check.title,
        files=run.files.pattern(),
        combinations=run.cells,
        judged=run.judged,
        seconds_s=run.seconds,
        limits=tuple(
            LimitCount(code, counted[code])
            for code in sorted(LIMITS, key=lambda each: -counted.get(each, 0))
            if counted.get(code)
        ),
        cells=tuple(cells),
        findings=check.findings,
        **totals,
    )


def known_share() -> polars.Expr:
    """What there is over what is asked, of a cell of a map; null where no number is."""
    import polars

    return polars.col("share").fill_nan(None)


def worst_first() -> polars.Expr:
    """Rank of a cell of a map: those that fail first, and of them those without a number.

    After these stand the others, by what is left.
    """
    import polars

    fails, known = polars.col("status") == "does_not", known_share()
    return polars.when(fails).then(known.fill_null(-1.0)).otherwise(known.fill_null(1e300) + 1e6)


def _by_choice(frame: polars.LazyFrame) -> polars.DataFrame:
    """Counts and the worst load of each carriage, machine and film."""
    import polars

    status = polars.col("status")
    fails = status == "does_not"
    known, rank = known_share(), worst_first()
    weight = polars.col("loads_per_year").fill_null(1.0)
    worst: dict[str, Any] = {
        "worst_load": polars.col("load"),
        "worst_limit": polars.col("limit"),
        "worst_share": known,
    }
    return (
        frame.group_by("carriage", "machine_model", "film")
        .agg(
            *((status == each).sum().alias(each) for each in STATUSES),
            (weight.filter(~fails).sum() / weight.sum()).alias("works_share"),
            *(each.get(rank.arg_min()).alias(name) for name, each in worst.items()),
        )
        .collect()
    )

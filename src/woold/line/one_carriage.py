"""One carriage for the line: the share that each serves, and what having only one costs in film."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from woold.carriages.saving import drawn_range
from woold.case.things import CarriageThing
from woold.errors import InputError
from woold.line.catalogue import Catalogue
from woold.line.check import check_line
from woold.line.envelope_result import EnvelopeSearch, envelope_result
from woold.line.envelope_search import MOST_SEARCHED, EnvelopeBest, Step, searched, with_found
from woold.line.free_checks import free_carriages
from woold.line.limits import LIMITS
from woold.line.line_file import LineFile
from woold.line.wrapped_film import (
    DRAWS,
    FilmDraws,
    LoadsWithMachine,
    WrappedFilm,
    loads_with_machine,
    wrapped_by,
)
from woold.prediction.result import CAUTIONS, Finding
from woold.rows.told import Told
from woold.words import say

__all__ = ["CarriageServes", "LimitShare", "LineCarriages", "MachineBest", "line_carriages"]

Floats = NDArray[np.float64]
_CLOSE = 1.1
"""A limit that is kept by less than a tenth."""
_MOST_LIMITS = 5


@dataclass(frozen=True, slots=True)
class LimitShare:
    """A limit, and the share of the line's film that is not served because of it."""

    limit: str
    film_share: float


@dataclass(frozen=True, slots=True)
class CarriageServes:
    """One carriage on every machine of the line.

    Args:
        film_share, loads_share: of the line's film and of its loads a year that it serves [-].
        close_share: of the line's film that it serves, but a limit by less than a tenth [-].
        film_per_year_kg: on the loads that it serves [kg].
        price_of_one_kg: film that it takes a year beyond the best carriage for each machine, on
            the loads that both serve, and its range [kg].
        price_of_one_share: the same over that film of theirs [-].
        slips_share: of the film of its loads, over all draws, where a roller slips [-].
        lost_share: of the line's film that the best for each machine serve and it does not [-].
        saving_kg, saving_share: against the carriages of today, on the loads that it serves and
            whose film of today is known; with ranges. None where nothing is known of today.
        limits: why it does not serve the rest.
    """

    carriage: str
    film_share: float
    loads_share: float
    close_share: float
    film_per_year_kg: float
    price_of_one_kg: float
    price_of_one_low_kg: float
    price_of_one_high_kg: float
    price_of_one_share: float
    slips_share: float
    lost_share: float
    saving_kg: float | None
    saving_share: float | None
    saving_low_share: float | None
    saving_high_share: float | None
    limits: tuple[LimitShare, ...]


@dataclass(frozen=True, slots=True)
class MachineBest:
    """The best carriage for one model of machine: the largest share served, then the least film.

    Args:
        today: the carriage fitted today; "" where it is not known.
        film_share: of the film of its loads that the best serves [-].
        today_share: the same of today's carriage; None likewise [-].
    """

    machine_model: str
    carriage: str
    today: str
    film_share: float
    today_share: float | None


@dataclass(frozen=True, slots=True, repr=False)
class LineCarriages(Told):
    """What each carriage would do as the only one of the line.

    Args:
        loads, loads_per_year: kinds of load with a machine and a number, and all of them a year.
        film_per_year_kg: the line's film: today's where it is known, else the least of any
            carriage that serves the load [kg].
        draws: random draws behind the ranges.
        carriages: the best first: the largest share served, then the least film.
        envelopes: free dimensions that were searched.
    """

    told_as = "line-carriages"
    told_by = "woold.line.one_carriage_rows:carriages_blocks"

    title: str
    loads: int
    loads_per_year: float
    film_per_year_kg: float
    draws: int
    carriages: tuple[CarriageServes, ...]
    machines: tuple[MachineBest, ...]
    envelopes: tuple[EnvelopeSearch, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...] = CAUTIONS


@dataclass(frozen=True, eq=False)
class _Fitted:
    """Loads wrapped by a carriage for each model of machine."""

    carriages: Sequence[CarriageThing | None]
    wrapped: WrappedFilm


def line_carriages(
    line: LineFile,
    catalogue: Catalogue,
    draws: int = DRAWS,
    seed: int = 1,
    step: Step | None = None,
) -> LineCarriages:
    """Each carriage as the only one of the line, against the best for each machine and today's.

    Args:
        line: the line.
        catalogue: its loads.
        draws: random draws of what is known within a range only: placeholders and the law of width.
        seed: of the draws, and of the search of free dimensions.
        step: called with how much of a hundred of such a search is done.

    Raises:
        InputError: no load whose machine and number are known.
    """
    if not 100 <= draws <= 100_000:
        raise InputError.one(
            "--draws", f"{draws}", say("100 to 100,000"), say("Give a number in that range.")
        )
    things, loads = line.things, loads_with_machine(line, catalogue)
    if not loads.loads:
        raise InputError.one(
            catalogue.place("machine"), say("no load with a machine and a number of loads a year"),
            say("at least one"), say("Say which machine wraps the loads, and how many a year."),
        )  # fmt: skip
    every = len(things.models)
    alone = [
        _Fitted([each] * every, wrapped_by(line, [each] * every, loads))
        for each in things.candidates
    ]
    fitted = [things.fitted(each.name) for each in things.models]
    today = _Fitted(fitted, wrapped_by(line, fitted, loads)) if any(fitted) else None
    film = _line_film(loads, alone, today)
    best = _best_of_each(things.models, alone, loads, film)
    joined = _joined(np.array(best, dtype=np.intp)[loads.models], best, alone)
    found, told = _searched(line, loads, film, seed, step)
    named = with_found(line, found)
    drawn = FilmDraws(named, loads, draws, seed)
    added = [_Fitted([each.carriage] * every, each.wrapped) for each in found if each.placed]
    served = [_serves(loads, each, (joined, today), film, drawn) for each in (*alone, *added)]
    check = check_line(line, catalogue)
    return LineCarriages(
        title=line.line.title,
        loads=len(loads.loads),
        loads_per_year=float(loads.per_year.sum()),
        film_per_year_kg=float(film.sum()),
        draws=draws,
        carriages=tuple(
            sorted(served, key=lambda each: (-round(each.film_share, 9), each.price_of_one_share))
        ),
        machines=tuple(
            MachineBest(
                machine_model=model.name,
                carriage=things.candidates[best[at]].name,
                today=each.name if each is not None else "",
                film_share=_share_on(alone[best[at]], loads, film, at),
                today_share=None if today is None or each is None
                else _share_on(today, loads, film, at),
            )
            for at, (model, each) in enumerate(zip(things.models, fitted, strict=True))
            if (loads.models == at).any()
        ),
        envelopes=told,
        findings=(*_findings(line, loads, today, catalogue.place("machine")), *check.findings),
    )  # fmt: skip


def _searched(
    line: LineFile, loads: LoadsWithMachine, film: Floats, seed: int, step: Step | None
) -> tuple[list[EnvelopeBest], tuple[EnvelopeSearch, ...]]:
    """Carriages with free dimensions, searched; none where there are too many kinds of load."""
    if len(loads.loads) > MOST_SEARCHED:
        return [], ()
    free = free_carriages(line.things, line.line.envelopes)
    found = [searched(line, each, loads, film, seed, step) for each in free]
    every = len(line.things.models)
    told = tuple(
        envelope_result(
            each, wrapped_by(line, [each.free.base] * every, loads), film, loads.per_year
        )
        for each in found
    )
    return found, told


def _line_film(loads: LoadsWithMachine, alone: Sequence[_Fitted], today: _Fitted | None) -> Floats:
    """Film of a year of each load: today's, else the least of any carriage that serves it [kg]."""
    stacked = np.stack([np.where(each.wrapped.serves, each.wrapped.mass, np.nan) for each in alone])
    film = np.fmin.reduce(stacked, axis=0)
    any_film = np.fmin.reduce(np.stack([each.wrapped.mass for each in alone]), axis=0)
    film = np.where(np.isnan(film), any_film, film)
    if today is not None:
        film = np.where(np.isnan(today.wrapped.mass), film, today.wrapped.mass)
    return np.asarray(np.nan_to_num(film) * loads.per_year)


def _share_on(fitted: _Fitted, loads: LoadsWithMachine, film: Floats, model: int) -> float:
    """Share of the film on one model of machine that is served."""
    here = film * (loads.models == model)
    return float((here * fitted.wrapped.serves).sum() / here.sum()) if here.sum() > 0.0 else 0.0


def _best_of_each(
    models: Sequence[object], alone: Sequence[_Fitted], loads: LoadsWithMachine, film: Floats
) -> list[int]:
    """Number of the best carriage for each model of machine."""
    best = []
    for model in range(len(models)):
        here = loads.models == model
        shares = [_share_on(each, loads, film, model) for each in alone]
        most = max(shares)
        # Of those that serve most, the one that takes least on what all of them serve.
        equal = [at for at, share in enumerate(shares) if share >= most - 1e-9]
        both = here & np.logical_and.reduce([alone[at].wrapped.serves for at in equal])
        mass = [float((alone[at].wrapped.mass * loads.per_year)[both].sum()) for at in equal]
        best.append(equal[int(np.argmin(mass))])
    return best


def _joined(of_load: NDArray[np.intp], best: Sequence[int], alone: Sequence[_Fitted]) -> _Fitted:
    """The best carriage for each model of machine, together; of each load the number of its."""
    rows = np.arange(len(of_load))

    def picked(name: str) -> NDArray[np.generic]:
        stacked = np.stack([getattr(each.wrapped, name) for each in alone])
        return np.asarray(stacked[of_load, rows])

    first = alone[0].wrapped
    wrapped = WrappedFilm(
        carriage=first.carriage,
        serves=picked("serves").astype(bool),
        mass=picked("mass").astype(float),
        film=picked("film").astype(np.intp),
        recipe=[
            alone[at].wrapped.recipe[row] for row, at in enumerate(of_load.tolist())
        ],
        limit=picked("limit").astype(np.intp),
        share=picked("share").astype(float),
    )  # fmt: skip
    return _Fitted([alone[at].wrapped.carriage for at in best], wrapped)


def _serves(
    loads: LoadsWithMachine,
    one: _Fitted,
    others: tuple[_Fitted, _Fitted | None],
    film: Floats,
    drawn: FilmDraws,
) -> CarriageServes:
    """What one carriage does, against the best for each machine and today's."""
    best, today = others
    mine, total = one.wrapped, float(film.sum())
    serves = mine.serves
    both = serves & best.wrapped.serves
    more, _ = _against(one, best, both, drawn)
    price = drawn_range(more)
    slips = drawn.slips(mine, one.carriages, serves)
    sure = float(((mine.mass - best.wrapped.mass) * loads.per_year)[both].sum())
    theirs = float((best.wrapped.mass * loads.per_year)[both].sum())
    saving: tuple[float | None, ...] = (None, None, None, None)
    if today is not None:
        known = serves & ~np.isnan(today.wrapped.mass)
        before = float((today.wrapped.mass * loads.per_year)[known].sum())
        if before > 0.0:
            less, of = _against(one, today, known, drawn)
            saved = drawn_range(-less / of)
            kept = before - float((mine.mass * loads.per_year)[known].sum())
            saving = (kept, kept / before, saved.low, saved.high)
    with np.errstate(invalid="ignore"):
        close = serves & (mine.share < _CLOSE)
    return CarriageServes(
        carriage=mine.carriage.name,
        film_share=float(film[serves].sum()) / total,
        loads_share=float(loads.per_year[serves].sum() / loads.per_year.sum()),
        close_share=float(film[close].sum()) / total,
        film_per_year_kg=float((mine.mass * loads.per_year)[serves].sum()),
        price_of_one_kg=sure,
        price_of_one_low_kg=min(price.low, sure),
        price_of_one_high_kg=max(price.high, sure),
        price_of_one_share=sure / theirs if theirs > 0.0 else 0.0,
        slips_share=slips,
        lost_share=float(film[best.wrapped.serves & ~serves].sum()) / total,
        saving_kg=saving[0],
        saving_share=saving[1],
        saving_low_share=saving[2],
        saving_high_share=saving[3],
        limits=tuple(_limits(mine, film / total)),
    )


def _against(
    one: _Fitted,
    other: _Fitted,
    where: NDArray[np.bool_],
    drawn: FilmDraws,
) -> tuple[Floats, Floats]:
    """Film beyond the others' on some loads in every draw, and the others' film [kg]."""
    theirs = drawn.film(other.wrapped, other.carriages, where)
    return drawn.film(one.wrapped, one.carriages, where) - theirs, theirs


def _limits(wrapped: WrappedFilm, film_share: Floats) -> Iterator[LimitShare]:
    """Why the rest is not served, the gravest first."""
    missing = ~wrapped.serves & (wrapped.limit >= 0)
    shares = np.bincount(wrapped.limit[missing], film_share[missing], minlength=len(LIMITS))
    codes = list(LIMITS)
    for at in np.argsort(-shares)[:_MOST_LIMITS].tolist():
        if shares[at] > 0.0:
            yield LimitShare(codes[at], float(shares[at]))


def _findings(
    line: LineFile, loads: LoadsWithMachine, today: _Fitted | None, place: str
) -> Iterator[Finding]:
    if line.line.envelopes and len(loads.loads) > MOST_SEARCHED:
        yield Finding(
            "envelope_not_searched",
            "envelopes",
            say(
                "Free dimensions are searched for {most} kinds of load at most. Look at some of"
                " them: --sample {most}.",
                most=MOST_SEARCHED,
            ),
        )
    if loads.left_out:
        yield Finding(
            "loads_left_out",
            place,
            say(
                "Kinds of load left out, as they name no machine or no number a year: {count}.",
                count=loads.left_out,
            ),
        )
    if today is None:
        yield Finding(
            "today_unknown",
            "machines.carriage",
            say("No machine says which carriage it has today, so nothing is compared with that."),
        )

"""What was learnt, kept in a file, so that one more load is answered in seconds.

Draws that were learnt from the loads so far are weighed by how much more likely the new averages
make each of them. Where too few of them count, they are drawn anew, the smooth functions kept.
"""

from __future__ import annotations

import json
import math
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from woold import __version__
from woold.case.shelf import hash_of
from woold.errors import InputError
from woold.learning.density import LogDensity
from woold.learning.emulator import Emulated, Quadratic, Slip
from woold.learning.learned import Learned, learn, told
from woold.learning.sampling import FEWEST, Diagnostics, Sampled, sampled
from woold.learning.shared_unknowns import SharedUnknowns
from woold.learning.wrapped import Wrapped
from woold.words import say, to_say

__all__ = ["KeptDraws", "learn_again", "read_kept", "write_kept"]

Array = npt.NDArray[np.float64]

_BY_WEIGHING = to_say("weighing draws that were kept")
_BY_SAMPLING_AGAIN = to_say("sampling, with smooth functions that were kept")

_PLACES = ("log_mean", "log_error", "turns", "age")
_SAME_AGE = 0.1
"""Ages whose logarithm differs by less are one: force kept differs by a quarter of a per cent."""

_SAME_TIME = 30.0 * 86_400.0
"""Trials whose time moves by less are where they were: grip drifts little in that [s]."""


@dataclass(frozen=True, slots=True)
class KeptDraws:
    """What a file holds.

    Args:
        alike: tells apart stores whose trials, cases or kinds of reading differ, and releases.
        averages: by average `_PLACES`, in the order of what was wrapped.
        times: of each that was wrapped [s].
        draws: as those of :class:`woold.learning.learned.Learned`.
        emulations: by load type, about what was learnt.
        diagnostics: of the draws.
    """

    alike: str
    averages: Array
    times: Array
    draws: Array
    emulations: tuple[Emulated, ...]
    diagnostics: Diagnostics


def learn_again(
    wrapped: Sequence[Wrapped],
    kept: KeptDraws | None,
    seed: int = 1,
    tell: Callable[[str], None] = lambda _: None,
) -> Learned:
    """What was wrapped and measured teaches, from what was kept where that will do.

    Weights w = p(new averages | draw)/p(old averages | draw); effective size (sum w)^2/sum w^2.

    Args:
        wrapped: what was wrapped.
        kept: what was learnt before; None for nothing.
        seed: of the draws.
        tell: is told what is done next.

    Source:
        Kong, Liu and Wong, J. Am. Statist. Assoc. 89 (1994) 278-288 (effective size).
    """
    if kept is None or kept.alike != _alike(wrapped) or not _same_times(wrapped, kept):
        return learn(wrapped, seed, tell)
    wrapped = [
        replace(each, when=when) for each, when in zip(wrapped, kept.times.tolist(), strict=True)
    ]
    unknowns = SharedUnknowns(wrapped)
    before = LogDensity(_with_averages(wrapped, kept), kept.emulations, unknowns)
    after = LogDensity(_at_kept_turns(wrapped, kept), kept.emulations, unknowns)
    at = unknowns.independent(kept.draws)
    logs = np.array([after(row)[0] - before(row)[0] for row in at])
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    effective = float(1.0 / (weight**2).sum()) * min(
        1.0, kept.diagnostics.effective / len(kept.draws)
    )
    if effective >= FEWEST:
        random = np.random.default_rng(seed)
        steps = (np.arange(len(at)) + random.random()) / len(at)
        chosen = np.searchsorted(weight.cumsum(), steps).clip(0, len(at) - 1)
        diagnostics = replace(kept.diagnostics, effective=effective, by=say(_BY_WEIGHING))
        return told(wrapped, unknowns, after, Sampled(kept.draws[chosen], diagnostics))
    found = sampled(after, after.count, seed, start=after.start, apart=after.apart)
    draws = unknowns.scores(found.draws)
    diagnostics = replace(found.diagnostics, by=say(_BY_SAMPLING_AGAIN))
    return told(wrapped, unknowns, after, Sampled(draws, diagnostics))


def write_kept(path: Path, learned: Learned, wrapped: Sequence[Wrapped]) -> None:
    """Keep what was learnt; nothing where it cannot be trusted, or was itself weighed.

    Args:
        path: of the file.
        learned: what was learnt.
        wrapped: from what.
    """
    if not learned.can_be_trusted or learned.diagnostics.by == say(_BY_WEIGHING):
        return
    arrays: dict[str, Any] = {"averages": _averages(wrapped), "draws": learned.draws}
    arrays["times"] = np.array([each.when for each in wrapped])
    for index, each in enumerate(learned.density.emulations):
        for name, quadratic in (("smooth", each.smooth), ("margin", each.margin)):
            for part in ("level", "slope", "bend"):
                arrays[f"{index}.{name}.{part}"] = getattr(quadratic, part)
        for part in ("powers", "cross", "most"):
            arrays[f"{index}.slip.{part}"] = np.asarray(getattr(each.slip, part))
        for part in ("missed", "torn", "jumped"):
            arrays[f"{index}.{part}"] = np.asarray(getattr(each, part))
    about = {"alike": _alike(wrapped), "diagnostics": asdict(learned.diagnostics)}
    aside = path.with_name(f"{path.name}.part")
    with aside.open("wb") as file:
        np.savez_compressed(file, about=np.array(json.dumps(about)), **arrays)
    aside.replace(path)


def read_kept(path: Path) -> KeptDraws | None:
    """What was kept in a file; None where there is none.

    Raises:
        InputError: a file that is none of ours.
    """
    if not path.exists():
        return None
    try:
        with np.load(path, allow_pickle=False) as found:
            about = json.loads(str(found["about"]))
            count = sum(name.endswith(".missed") for name in found.files)
            emulations = tuple(_emulation(found, index) for index in range(count))
            diagnostics = Diagnostics(**about["diagnostics"])
            averages, times, draws = (found[name] for name in ("averages", "times", "draws"))
            kept = KeptDraws(about["alike"], averages, times, draws, emulations, diagnostics)
    except (OSError, ValueError, KeyError, TypeError, EOFError, zipfile.BadZipFile):
        raise InputError.one(
            str(path),
            say("no file of what was learnt"),
            say("a file that `woold learn --kept` wrote"),
            say("Name another file; it is made where there is none."),
        ) from None
    return kept


def _emulation(found: np.lib.npyio.NpzFile, index: int) -> Emulated:
    smooth, margin = (
        Quadratic(*(found[f"{index}.{name}.{part}"] for part in ("level", "slope", "bend")))
        for name in ("smooth", "margin")
    )
    powers, cross, most = (found[f"{index}.slip.{part}"] for part in ("powers", "cross", "most"))
    torn, jumped = (float(found[f"{index}.{part}"]) for part in ("torn", "jumped"))
    slip = Slip(powers, cross, float(most))
    return Emulated(smooth, margin, slip, found[f"{index}.missed"], torn, jumped)


def _alike(wrapped: Sequence[Wrapped]) -> str:
    rows = [
        [
            *(each.trial, each.treatment, each.load_type),
            hash_of(each.case.model_dump(mode="json", exclude={"title"})),
            *(f"{a.what} {a.height:.2f}" for a in each.averages),
        ]
        for each in wrapped
    ]
    # Another release may take other numbers for known.
    return hash_of({"rows": rows, "by": __version__})


def _averages(wrapped: Sequence[Wrapped]) -> Array:
    rows = [[getattr(a, name) for name in _PLACES] for each in wrapped for a in each.averages]
    return np.array(rows, dtype=float)


def _same_times(wrapped: Sequence[Wrapped], kept: KeptDraws) -> bool:
    """Whether trials are where they were, and their readings as old."""
    moved = np.array([each.when for each in wrapped]) - kept.times
    if np.abs(moved).max() > _SAME_TIME:
        return False
    now, then = _averages(wrapped)[:, 3], kept.averages[:, 3]
    aged = np.isfinite(now)
    return bool(np.all(np.abs(np.log(now[aged] / then[aged])) < _SAME_AGE))


def _with_averages(wrapped: Sequence[Wrapped], kept: KeptDraws) -> list[Wrapped]:
    """What was wrapped, with the averages that were kept."""
    rows = iter(kept.averages.tolist())
    return [
        replace(
            each,
            averages=tuple(
                replace(a, **dict(zip(_PLACES, next(rows), strict=True))) for a in each.averages
            ),
        )
        for each in wrapped
    ]


def _at_kept_turns(wrapped: Sequence[Wrapped], kept: KeptDraws) -> list[Wrapped]:
    """Film masses brought to the turns that the smooth functions are for."""
    rows = iter(kept.averages[:, 2].tolist())
    found = []
    for each in wrapped:
        averages = []
        for a in each.averages:
            then = next(rows)
            counted = math.isfinite(a.turns) and math.isfinite(then)
            moved = math.log(then / a.turns) if counted else 0.0
            averages.append(replace(a, log_mean=a.log_mean + moved))
        found.append(replace(each, averages=tuple(averages)))
    return found

"""What was learnt, kept in the store: a version for each time, so that it can be asked again."""

from __future__ import annotations

import datetime
import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from sqlalchemy import Engine, Row, insert, select

import woold
from woold.case.model import Case
from woold.case.origin import Origin
from woold.errors import InputError
from woold.learning.forecast_draws import ForecastDraws
from woold.learning.shared_unknowns import SharedUnknowns
from woold.learning.wrapped import Wrapped
from woold.store.engine import writing
from woold.store.web_tables import learning
from woold.trial.averages import Average
from woold.words import say

__all__ = ["LearningVersion", "LearningVersions"]


@dataclass(frozen=True, slots=True)
class LearningVersion:
    """A version of what was learnt.

    Args:
        number: counted from 1.
        by, at: who learnt and when (UTC, ISO 8601).
        made_with: version of woold.
        trials: keys of the trials that it rests on.
        averages: how many averages they had then.
    """

    number: int
    by: str
    at: str
    made_with: str
    trials: tuple[str, ...]
    averages: int


class LearningVersions:
    """Versions of what was learnt, in a store; they are only ever added.

    Args:
        engine: of an opened store.
    """

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def add(self, found: ForecastDraws, wrapped: Sequence[Wrapped], by: str) -> LearningVersion:
        """Keep what was learnt.

        Args:
            found: what was learnt.
            wrapped: from what.
            by: who.
        """
        sites, ways = found.spreads_by_kind
        content = io.BytesIO()
        np.savez_compressed(
            content,
            draws=found.draws.astype(np.float32),
            sites=sites.astype(np.float32),
            ways=ways.astype(np.float32),
        )
        about = {
            "woold": woold.__version__,
            "kinds": found.kinds,
            "trials": found.trials,
            "averages": sum(len(each.averages) for each in wrapped),
            "wrapped": [_table(each) for each in wrapped],
        }
        at = datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
        row = {"about": json.dumps(about), "content": content.getvalue(), "by": by, "at": at}
        with writing(self.engine) as connection:
            number = connection.execute(insert(learning), row).inserted_primary_key
        return _version(int(number[0] if number else 0), about, by, at)

    def all(self) -> tuple[LearningVersion, ...]:
        """Every version, the latest first."""
        columns = [each for each in learning.c if each is not learning.c.content]
        query = select(*columns).order_by(learning.c.number.desc())
        with self.engine.connect() as connection:
            rows = connection.execute(query).all()
        return tuple(_version(row.number, json.loads(row.about), row.by, row.at) for row in rows)

    def last(self) -> int:
        """Number of the latest version; 0 where nothing was learnt yet."""
        query = select(learning.c.number).order_by(learning.c.number.desc()).limit(1)
        with self.engine.connect() as connection:
            return int(connection.execute(query).scalar() or 0)

    def draws(self, number: int) -> tuple[ForecastDraws, LearningVersion]:
        """What was learnt in a version, to be asked as it was then.

        Args:
            number: of the version.

        Raises:
            InputError: no such version.
        """
        with self.engine.connect() as connection:
            row = connection.execute(select(learning).where(learning.c.number == number)).first()
        if row is None:
            known = self.last()
            raise InputError.one(
                "version",
                str(number),
                say("1 to {last}", last=known) if known else say("none: nothing was learnt yet"),
                say("Learn from the store's trials, or take another version."),
            )
        return _draws(row)


def _draws(row: Row[Any]) -> tuple[ForecastDraws, LearningVersion]:
    about = json.loads(row.about)
    with np.load(io.BytesIO(row.content), allow_pickle=False) as found:
        draws, sites, ways = (found[name].astype(float) for name in ("draws", "sites", "ways"))
    unknowns = SharedUnknowns([_wrapped(each) for each in about["wrapped"]])
    kept = ForecastDraws(
        tuple(about["trials"]), unknowns, draws, tuple(about["kinds"]), (sites, ways)
    )
    return kept, _version(row.number, about, row.by, row.at)


def _version(number: int, about: Mapping[str, Any], by: str, at: str) -> LearningVersion:
    trials, averages = tuple(about["trials"]), int(about["averages"])
    return LearningVersion(number, by, at, about["woold"], trials, averages)


def _table(each: Wrapped) -> dict[str, Any]:
    return {
        "trial": each.trial,
        "treatment": each.treatment,
        "load_type": each.load_type,
        "when": each.when,
        "case": each.case.model_dump(mode="json", exclude_unset=True),
        "origins": {name: list(origin) for name, origin in each.case.stated_origins().items()},
        "averages": [_known(asdict(average)) for average in each.averages],
    }


def _known(values: Mapping[str, Any]) -> dict[str, Any]:
    """Without what is no number, which a document has no word for."""
    return {name: value for name, value in values.items() if value == value}


def _wrapped(table: Mapping[str, Any]) -> Wrapped:
    origins = {name: Origin(*parts) for name, parts in table["origins"].items()}
    return Wrapped(
        table["trial"],
        table["treatment"],
        table["load_type"],
        Case.model_validate(table["case"]).with_origins(origins),
        tuple(Average(**each) for each in table["averages"]),
        table.get("when", 0.0),
    )

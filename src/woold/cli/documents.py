"""Documents that commands make of several results, or of what they did; trials have their own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, Self

from woold.case.shelf import Kept
from woold.prediction.result import Finding, Prediction
from woold.report.model import InputHash
from woold.rows.document import JsonDocument
from woold.rows.typeset import Paper
from woold.shelf.since import Since
from woold.transport.calibration import TransportCalibration
from woold.transport.result import TransportResult
from woold.transport.sensitivity import TransportEffect
from woold.transport.simulation import TransportSimulation
from woold.uncertainty.sensitivity import Effect
from woold.verdict.result import Verdict

__all__ = [
    "AccountDocument",
    "AccountLine",
    "AccountsDocument",
    "CaseDocument",
    "CaseInput",
    "CaseThing",
    "DemoDocument",
    "PredictionDocument",
    "ReportDocument",
    "ShelfDocument",
    "ShelfSinceDocument",
    "ShelfThing",
    "StarterDocument",
    "StepDone",
    "StoreBackupDocument",
    "StoreCheckDocument",
    "StoreRestoredDocument",
    "TransportDocument",
]


@dataclass(frozen=True, slots=True, repr=False, kw_only=True)
class PredictionDocument(Prediction):
    """A prediction with its verdict, and what was asked for besides."""

    verdict: Verdict
    sensitivity: Sequence[Effect] | None
    ranges: Mapping[str, tuple[float, float]] | None
    law_shares: Mapping[str, float] | None


@dataclass(frozen=True, slots=True, repr=False, kw_only=True)
class TransportDocument(TransportResult):
    """A transport screen with its verdict, what decides it, and what was asked for besides."""

    verdict: Verdict
    effects: Sequence[TransportEffect]
    simulation: TransportSimulation | None
    calibration: TransportCalibration | None


@dataclass(frozen=True, slots=True)
class CaseInput:
    """One value of a case, and where it is from."""

    field: str
    value: float | None
    unit: str
    origin: str
    is_placeholder: bool
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class CaseThing:
    """A thing on a shelf that a case was made of, in the version that it had then."""

    kind: str
    name: str
    version: int
    hash: str


@dataclass(frozen=True, slots=True)
class CaseDocument(JsonDocument):
    """A case that can be predicted, value by value."""

    told_as = "case"

    title: str
    inputs: tuple[CaseInput, ...]
    made_of: tuple[CaseThing, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class StarterDocument(JsonDocument):
    """A file to start from: where it was written, or its text where no file was named."""

    told_as = "starter"

    file: str | None
    schema_file: str | None
    text: str | None


@dataclass(frozen=True, slots=True)
class AccountDocument(JsonDocument):
    """Somebody whose account was set or removed; no role where it was removed."""

    told_as = "account"

    name: str
    role: str | None


@dataclass(frozen=True, slots=True)
class AccountLine:
    """Somebody who may sign in."""

    name: str
    role: str
    at: str


@dataclass(frozen=True, slots=True)
class AccountsDocument(JsonDocument):
    """Everybody who may sign in."""

    told_as = "accounts"

    accounts: tuple[AccountLine, ...]


@dataclass(frozen=True, slots=True)
class ReportDocument(JsonDocument):
    """A report as data, its pictures left out."""

    told_as = "report"

    kind: str
    title: str
    subtitle: str
    language: str
    made_at: str
    paper: Paper
    inputs: tuple[InputHash, ...]
    blocks: Sequence[Mapping[str, object]]
    footer: str
    page_of: str
    is_sheet: bool
    files: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StepDone:
    """A step of the demo: its command, how it ended, and the file with what it printed."""

    command: str
    state: Literal["done", "left out"]
    exit_status: int | None
    file: str | None


@dataclass(frozen=True, slots=True)
class DemoDocument(JsonDocument):
    """The steps of the demo, and the folder that holds what they wrote."""

    told_as = "demo"

    folder: str
    steps: tuple[StepDone, ...]


@dataclass(frozen=True, slots=True)
class StoreCheckDocument(JsonDocument):
    """Whether a store is sound, what is wrong with it, and how many rows each table has."""

    told_as = "store-check"

    sound: bool
    wrong: tuple[str, ...]
    rows: Mapping[str, int]
    sha256: str


@dataclass(frozen=True, slots=True)
class StoreBackupDocument(JsonDocument):
    """A proven copy of a store."""

    told_as = "store-backup"

    file: str
    rows: Mapping[str, int]
    sha256: str


@dataclass(frozen=True, slots=True)
class StoreRestoredDocument(JsonDocument):
    """What a store holds that was made from a copy."""

    told_as = "store-restored"

    rows: Mapping[str, int]
    sha256: str


@dataclass(frozen=True, slots=True)
class ShelfThing:
    """One version of a thing, as it was written down."""

    kind: str
    name: str
    version: int
    hash: str
    typed: Mapping[str, Any]
    as_typed: tuple[str, ...]

    @classmethod
    def of(cls, kept: Kept) -> Self:
        """The version as a document has it."""
        return cls(kept.kind, kept.name, kept.version, kept.hash, kept.typed, kept.right)


@dataclass(frozen=True, slots=True)
class ShelfDocument(JsonDocument):
    """Things that stand on a shelf, or were put there or written."""

    told_as = "shelf"

    place: str
    things: tuple[ShelfThing, ...]


@dataclass(frozen=True, slots=True)
class ShelfSinceDocument(JsonDocument):
    """What became of the things that a case was made of."""

    told_as = "shelf-since"

    title: str
    things: tuple[Since, ...]

"""Transport, design, trials, sites and watch; values as text with units."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from woold.case.asked import asked_quantity, cells_of
from woold.rows.told import Told

if TYPE_CHECKING:
    from woold.case.model import Case
    from woold.case.shelf import Shelf
    from woold.design.result import DesignResult
    from woold.design.task import Goal
    from woold.prediction.result import Finding
    from woold.sites.analysis import SitesAnalysis
    from woold.transport.result import TransportResult
    from woold.trial.analysis import Analysis
    from woold.verdict.result import Verdict
    from woold.watch.machine import MachineWatch
    from woold.watch.settings import WatchSettings

__all__ = [
    "PooledSites",
    "WatchedLoads",
    "analyse_trial",
    "design_program",
    "judge",
    "pool_sites",
    "screen_transport",
    "verdict_of",
    "watch_loads",
]


def verdict_of(case: Case) -> Verdict:
    """Whether the wrapped load holds what its case asks, by how much, and what limits it.

    Args:
        case: [hold], [transport] and [design] say what is asked.

    Raises:
        WooldError: values that cannot be.
    """
    from woold.prediction.predict import predict
    from woold.verdict.verdict import verdict_of as judge

    return judge(case, predict(case))


def screen_transport(case: Case) -> TransportResult:
    """Whether the wrapped load stands the rules that the case's [transport] names: an estimate.

    Args:
        case: a case with a transport.

    Raises:
        WooldError: no [transport], or values that cannot be.
    """
    from woold.prediction.predict import predict
    from woold.transport.screen import screen_transport as screen

    return screen(case, predict(case))


def judge(case: Case, *, draws: int = 0) -> Verdict:
    """Whether the wrapped load holds what its case asks, by how much, and what limits it.

    Args:
        case: [hold] and [transport] say what is asked.
        draws: of the inputs known within a range only, to say how sure it is; 0 for none.

    Raises:
        WooldError: values that cannot be.
    """
    from woold.prediction.predict import predict
    from woold.verdict.chance import sureness
    from woold.verdict.verdict import verdict_of

    return verdict_of(case, predict(case), sure=sureness(case, draws) if draws else None)


def design_program(
    case: Case,
    *,
    shelf: Shelf | None = None,
    goal: Goal | None = None,
    baseline: Case | None = None,
    profiled: bool = False,
    front: bool = False,
    probability: str | None = None,
) -> DesignResult:
    """The program of least cost that holds, with what binds it.

    Args:
        case: [hold] and [transport] say what must be held, [design] what may change.
        shelf: films to choose from as well.
        goal: least cost, film or time; or most containment; least cost where prices are known if
            nothing is given, and least film where they are not.
        baseline: for most containment: case whose film may be used.
        profiled: let the rise vary with height as well.
        front: look for the front of film, containment and time.
        probability: hold this often over all ranges, "95 %".

    Raises:
        WooldError: values that cannot be, or missing prices.
    """
    from woold.design.study import design_program as design
    from woold.design.task import DesignTask

    share = None
    if probability is not None:
        share = asked_quantity("probability", probability)
    task = DesignTask(goal, baseline, profiled, front, share)
    return design(case, shelf.films_now() if shelf else (), task)


def analyse_trial(
    trial: str, *, store: str | None = None, resamples: int = 10_000, seed: int = 1
) -> Analysis:
    """Film saving, containment and verdict of a trial, with intervals and assumptions.

    Args:
        trial: its key.
        store: file or database URL; the user's own store if not given.
        resamples, seed: of the bootstrap.

    Raises:
        WooldError: no such trial, or too few records.
    """
    from woold.store import Store
    from woold.trial.analysis import analyse
    from woold.trial.records import trial_records

    opened = Store(store)
    try:
        return analyse(trial_records(opened, trial), resamples, seed)
    finally:
        opened.close()


@dataclass(frozen=True, slots=True, repr=False)
class PooledSites(Told):
    """Many trials as one average, with what may be claimed.

    Args:
        analysis: all that was found.
    """

    told_as = "sites"
    told_by = "woold.library.blocks:pooled_blocks"

    analysis: SitesAnalysis

    def to_json(self) -> dict[str, Any]:
        from woold.sites.document import sites_document

        return sites_document(self.analysis).to_json()


def pool_sites(
    table: Path | str,
    *,
    claim: str = "",
    at_least: Sequence[str] = (),
    explain: Sequence[str] = (),
    as_typed: Collection[str] = (),
) -> PooledSites:
    """Average saving, spread between sites, the next site, and what may be claimed.

    Args:
        table: CSV or TOML, one row a trial.
        claim: a claim to test, "5 % on average, up to 15 %".
        at_least: shares of sites that save this are told, "3 %".
        explain: covariates to fit together.
        as_typed: what was asked about and is right: "at_least", or a cell by its line and column.

    Raises:
        WooldError: a table that cannot be read, too few sites, or a question about what is not
            usual.
    """
    from woold.sites.analysis import SitesQuestions, analyse_sites
    from woold.sites.read_sites import read_sites

    questions = SitesQuestions(
        claim=claim,
        at_least=tuple(asked_quantity("at_least", text, as_typed=as_typed) for text in at_least),
        explain=tuple(explain),
    )
    return PooledSites(analyse_sites(read_sites(Path(table), as_typed), questions))


@dataclass(frozen=True, slots=True, repr=False)
class WatchedLoads(Told):
    """Charts and alarms of every machine in cycle records.

    Args:
        machines: the most urgent first.
        settings: what was watched against.
        findings: about the records.
    """

    told_as = "watch"
    told_by = "woold.library.blocks:watched_blocks"

    machines: tuple[MachineWatch, ...]
    settings: WatchSettings
    findings: tuple[Finding, ...]

    @property
    def has_alarm(self) -> bool:
        """Some machine has an alarm, or its saving falls short of the promise."""
        return any(
            each.events or (each.savings is not None and each.savings.falls_short)
            for each in self.machines
        )

    def to_json(self) -> dict[str, Any]:
        from woold.watch.document import watch_document

        return watch_document(self.machines, self.settings, self.findings).to_json()


def watch_loads(
    *records: Path | str,
    settings: Path | str | None = None,
    since: datetime | None = None,
    as_typed: Collection[str] = (),
) -> WatchedLoads:
    """Charts of cycle records, a machine each, and alarms where a saving drifts.

    Args:
        records: CSV or Parquet files, a row a load.
        settings: TOML file with film, promise and charts.
        since: loads before it are the set-up phase.
        as_typed: what was asked about and is right: fields of the settings, or columns of the
            records by their name.

    Raises:
        WooldError: files that cannot be read.
    """
    from woold.watch.machine import watch_machine
    from woold.watch.records import read_records
    from woold.watch.rows import most_urgent
    from woold.watch.settings import WatchSettings, read_settings

    of_columns, of_settings = cells_of(as_typed)
    against = WatchSettings()
    if settings is not None:
        against = read_settings(Path(settings), of_settings)
    read = read_records([Path(path) for path in records], as_typed=of_columns)
    parts = read.frame.partition_by("machine", maintain_order=True)
    machines = most_urgent([watch_machine(part, against, since) for part in parts])
    return WatchedLoads(tuple(machines), against, tuple(read.findings))

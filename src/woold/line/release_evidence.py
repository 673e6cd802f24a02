"""Trials behind a release: a table of sites, or trials of the store, and what each counts for.

A trial of the store counts by the carriage, machine and film that its cases name from the shelf, or
as a [[trial]] of the release's file says. One that cannot be told to be of this carriage alone is
left out, and why is said: a saving that another change brought must promise nothing.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from woold.case.model import Case
from woold.errors import InputError, Problem, WooldError
from woold.line.folded_names import folded
from woold.line.release_file import ReleaseFile, TriedEntry
from woold.sites.from_store import site_of_trial
from woold.sites.site_table import Site, SiteTable, table_of_sites
from woold.store import Store
from woold.trial.records import asked_trials, trial_records
from woold.trial.setup import TrialSetup
from woold.words import say

__all__ = ["Evidence", "LeftOut", "StoredTrial", "evidence_of_table", "evidence_of_trials",
           "stored_trials"]  # fmt: skip


@dataclass(frozen=True, slots=True)
class StoredTrial:
    """A trial of the store, whatever a release makes of it.

    Args:
        key: its own.
        site: its saving; None where it cannot be compared.
        why_not: why it cannot.
        carriages, films: names of the shelf in the cases of baseline and candidate; "" where the
            cases name none, or several.
        machine, model: of the candidate, likewise.
        other_film: the candidate's film is another than the baseline's.
    """

    key: str
    site: Site | None
    why_not: str
    carriages: tuple[str, str]
    films: tuple[str, str]
    machine: str
    model: str
    other_film: bool


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A trial of the store that does not count.

    Args:
        trial: its key.
        carriage, machine, film: what it names; "" where nothing.
        saving: where it can be compared [-].
        why: in words.
    """

    trial: str
    carriage: str
    machine: str
    film: str
    saving: float | None
    why: str


@dataclass(frozen=True, slots=True)
class Evidence:
    """Trials that a release rests on.

    Args:
        table: those that count.
        left_out: those of the store that do not.
    """

    table: SiteTable
    left_out: tuple[LeftOut, ...] = ()


def evidence_of_table(asked: ReleaseFile, table: SiteTable) -> Evidence:
    """The trials of a table of sites, all of them.

    Args:
        asked: the release.
        table: the sites.

    Raises:
        InputError: trials of the store are named as well.
    """
    if asked.trial:
        raise InputError.one(
            "trial",
            say("a table of sites, and [[trial]] as well"),
            say("one of the two: [[trial]] says what trials of the store tried"),
            say("Leave the table out, or [[trial]]; a table has columns for it."),
        )
    return Evidence(table)


def stored_trials(store: Store, keys: Sequence[str] = ()) -> tuple[StoredTrial, ...]:
    """The trials of a store with what their cases name.

    Args:
        store: where.
        keys: of the trials to take; all where empty.

    Raises:
        InputError: a key that is not there.
    """
    return tuple(_stored(store, key) for key in asked_trials(store, keys))


def _stored(store: Store, key: str) -> StoredTrial:
    records = trial_records(store, key)
    setup = records.setup
    site, why_not = None, ""
    try:
        site = site_of_trial(records)
    except WooldError as error:
        why_not = str(error.problems[0])
    pairs = [_cases(setup, each.name) for each in setup.trial.load_types]
    before, after = ([pair[at] for pair in pairs] for at in (0, 1))
    return StoredTrial(
        key=key,
        site=site,
        why_not=why_not,
        carriages=(_named(before, "carriages"), _named(after, "carriages")),
        films=(_named(before, "films"), _named(after, "films")),
        machine=_named(after, "machines"),
        model=_named(after, "machine_models"),
        other_film=any(b and a and _film(b) != _film(a) for b, a in pairs),
    )


def _cases(setup: TrialSetup, load_type: str) -> tuple[Case | None, Case | None]:
    return setup.case(load_type, "baseline"), setup.case(load_type, "candidate")


def _named(cases: Iterable[Case | None], kind: str) -> str:
    """What all cases name of a kind; "" where one names none, or another."""
    found = {
        next((each.name for each in case.made_of if each.kind == kind), "")
        for case in cases
        if case is not None
    }
    return found.pop() if len(found) == 1 else ""


def _film(case: Case) -> dict[str, Any]:
    """What makes a film another: its price may change."""
    return case.film.model_dump(exclude={"price", "roll_mass"})


def evidence_of_trials(
    asked: ReleaseFile, trials: Sequence[StoredTrial], picked: Collection[str] = ()
) -> Evidence:
    """What the trials of a store say of a release's carriage.

    Args:
        asked: the release; its [[trial]] entries say what trials tried whose cases do not.
        trials: of the store.
        picked: keys that were asked for by name: they count even where nobody says their carriage.

    Raises:
        InputError: a [[trial]] that the store does not have, or fewer than two trials that count.
    """
    told = {each.key: each for each in asked.trial}
    _require_there(asked, {each.key for each in trials})
    sites: list[Site] = []
    left_out: list[LeftOut] = []
    for trial in trials:
        entry = told.get(trial.key)
        why = trial.why_not or _why_not(asked.carriage, trial, entry, trial.key in picked)
        if trial.site is None or why:
            left_out.append(_left_out(trial, entry, why))
            continue
        sites.append(
            replace(
                trial.site,
                carriage=asked.carriage,
                machine=entry.machine if entry and entry.machine else trial.machine,
                model="" if entry and entry.machine else trial.model,
                film=entry.film if entry and entry.film else trial.films[1],
            )
        )
    if len(sites) < 2:
        _refuse_few(len(sites), left_out)
    return Evidence(table_of_sites(sites), tuple(left_out))


def _why_not(carriage: str, trial: StoredTrial, entry: TriedEntry | None, is_picked: bool) -> str:
    """Why a trial does not count for this carriage; "" where it does."""
    before, after = (folded(each) for each in trial.carriages)
    wanted = folded(carriage)
    if before == after == wanted:
        return say("baseline and candidate have this carriage")
    if entry is not None:
        return ""
    if after and after != wanted:
        return say("it tried another carriage: {name}", name=trial.carriages[1])
    if trial.other_film:
        return say("its film was changed as well")
    if not after and not is_picked:
        return say("nobody says which carriage it tried")
    return ""


def _left_out(trial: StoredTrial, entry: TriedEntry | None, why: str) -> LeftOut:
    return LeftOut(
        trial=trial.key,
        carriage=trial.carriages[1],
        machine=(entry.machine if entry else "") or trial.machine or trial.model,
        film=(entry.film if entry else "") or trial.films[1],
        saving=None if trial.site is None else trial.site.saving,
        why=why,
    )


def _require_there(asked: ReleaseFile, keys: Collection[str]) -> None:
    problems = [
        Problem(
            f"trial[{at}].key",
            repr(each.key),
            ", ".join(sorted(keys)) or say("a trial in the store"),
            say("Check the key: woold trial list shows them."),
        )
        for at, each in enumerate(asked.trial)
        if each.key not in keys
    ]
    if problems:
        raise InputError.many(problems)


def _refuse_few(count: int, left_out: Sequence[LeftOut]) -> None:
    left = "; ".join(f"{each.trial}: {each.why}" for each in left_out[:12])
    raise InputError.one(
        "trial",
        say("trials of this carriage that count: {count} ({left})", count=count, left=left)
        if left
        else say("trials of this carriage that count: {count}", count=count),
        say("at least 2"),
        say(
            "Name carriage, machine and film from the shelf in a trial's cases, or say in the"
            " release's file what a trial tried: [[trial]] with its key, machine and film. A table"
            " of sites does as well."
        ),
    )

"""A trial that is kept in a store, wrapped by the demo's invented people."""

from __future__ import annotations

import importlib.resources
import shutil
from pathlib import Path
from typing import Any

from woold.demo.wrapped_trial import written_worksheet
from woold.store import Store
from woold.trial.importing import import_written
from woold.trial.plan import plan_trial
from woold.trial.reading import read_written
from woold.trial.records import TrialRecords, trial_records
from woold.trial.setup import TrialSetup, read_trial, trial_from_tables
from woold.trial.starting import start_trial


def demo_setup(folder: Path) -> TrialSetup:
    """The demo's trial; its files are copied into the folder."""
    for source in importlib.resources.files("woold.demo").joinpath("files").iterdir():
        shutil.copyfile(str(source), folder / source.name)
    return read_trial(folder / "trial.toml")


def with_load_types(setup: TrialSetup, count: int, name: str = "load type {}") -> TrialSetup:
    """The trial with this many load types, all with the cases of its first one."""
    tables: dict[str, Any] = dict(setup.tables)
    first = tables["load_types"][0]
    tables["load_types"] = [{**first, "name": name.format(index)} for index in range(count)]
    return trial_from_tables(tables, setup.case_tables)


def wrapped(setup: TrialSetup, folder: Path, loads: int | None = None) -> TrialRecords:
    """Records of the trial, planned with so many loads of each treatment, wrapped and imported."""
    plan = plan_trial(setup.trial, setup.trial.aim, loads)
    sheet = folder / "filled.xlsx"
    sheet.write_bytes(written_worksheet(setup, plan.order))
    store = Store(str(folder / "trial.db"))
    try:
        start_trial(store, setup, plan.order, "AB", "")
        # The invented people's odd load is asked about; it is right.
        import_written(store, read_written(sheet), "AB", "", ("Loads!H3:H999",), "")
        return trial_records(store, setup.trial.key)
    finally:
        store.close()

"""The page on trials lists what a sheet may hold."""

from __future__ import annotations

import re
from pathlib import Path

from woold.trial.sheets import SHEETS

PAGE = Path(__file__).parents[2] / "docs" / "trials.md"


def test_page_lists_every_column_of_every_sheet() -> None:
    rows = re.findall(r"^\| (\w+) \| (.*) \|$", PAGE.read_text(encoding="utf-8"), re.MULTILINE)
    listed = {title: re.findall(r"`(\w+)`", names) for title, names in rows}
    for sheet in SHEETS:
        assert listed[sheet.title] == [field.name for field in sheet.fields]

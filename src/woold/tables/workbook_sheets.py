"""Sheets of a workbook: their cells, and what their reader does not tell of them.

A reader trusts the lengths and links that stand in a file. Of an .xlsx they are looked at first;
those of the other kinds are read by a process of its own, limited in memory and time.
"""

from __future__ import annotations

import io
import os
import pickle
import subprocess
import sys
import zipfile
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from woold.errors import InputError
from woold.tables.sheet_marks import SheetMarks
from woold.tables.workbook import MOST_CELLS, require_sound_workbook
from woold.tables.workbook_marks import workbook_marks
from woold.words import say

__all__ = ["BookSheet", "sheets_of_workbook"]

LONGEST = 20
"""Time that the process may take [s]."""
MOST_MEMORY = 768 << 20
"""Memory that it may take [bytes]."""


@dataclass(frozen=True)
class BookSheet:
    """One sheet of a workbook.

    Args:
        title: its name.
        lines: its cells, from the first row and column on.
        marks: of its cells.
    """

    title: str
    lines: list[list[Any]]
    marks: SheetMarks


def sheets_of_workbook(content: bytes, name: str, allowed: str) -> list[BookSheet]:
    """Every sheet of a workbook, in its order.

    Args:
        content: all of an .xlsx, .xlsm, .xls or .ods file.
        name, allowed: for messages.

    Raises:
        InputError: locked, damaged, or more than is worth its memory.
    """
    import python_calamine

    require_sound_workbook(content, name, allowed)
    try:
        return _read(content) if _is_looked_at(content) else _read_apart(content, name, allowed)
    except python_calamine.PasswordError:
        raise InputError.one(
            name, say("locked with a password"), allowed, say("Save it without one.")
        ) from None
    # A damaged file fails in as many ways as it has bytes; a reader's panic is no Exception.
    except BaseException as error:
        if isinstance(error, InputError | MemoryError | KeyboardInterrupt | SystemExit):
            raise
        raise InputError.one(
            name, say("not readable ({error})", error=str(error)[:120]), allowed,
            say("Save it anew."),
        ) from None  # fmt: skip


def _is_looked_at(content: bytes) -> bool:
    if content[:2] != b"PK":
        return False
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return not {"content.xml", "xl/workbook.bin"} & set(archive.namelist())


def _read(content: bytes) -> list[BookSheet]:
    import python_calamine

    book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(content))
    marks = workbook_marks(content)
    found, cells = [], 0
    for title in book.sheet_names:
        lines = book.get_sheet_by_name(title).to_python(skip_empty_area=False)
        cells += len(lines) * len(lines[0]) if lines else 0
        if cells > MOST_CELLS:
            raise OverflowError(say("more than {count:,} cells", count=MOST_CELLS))
        found.append(BookSheet(title, lines, marks.get(title, SheetMarks())))
    return found


def _read_apart(content: bytes, name: str, allowed: str) -> list[BookSheet]:
    """The sheets, read by a process that can be lost."""
    import python_calamine

    is_lost = True
    with suppress(subprocess.TimeoutExpired):
        done = subprocess.run(
            [sys.executable, "-c", "from woold.tables.workbook_sheets import main; main()"],
            input=content, capture_output=True, timeout=LONGEST, check=False,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        )  # fmt: skip
        is_lost = done.returncode != 0
    if is_lost:
        raise InputError.one(
            name, say("takes more memory or time than a sheet is worth"), allowed,
            say("Delete the empty rows and columns behind the table, and save it anew."),
        )  # fmt: skip
    made = pickle.loads(done.stdout)  # by this program, of values that it made itself
    if isinstance(made, str):
        raise python_calamine.PasswordError if made == _LOCKED else ValueError(made)
    return [BookSheet(*each) for each in made]


_LOCKED = "locked"


def main() -> None:
    """Reads the workbook on standard input; its sheets, or what is wrong, go out as a pickle."""
    import python_calamine

    try:
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (LONGEST, LONGEST))
    except ImportError:  # systems that have no such limits
        pass
    made: Any
    try:
        made = [(each.title, each.lines, each.marks) for each in _read(sys.stdin.buffer.read())]
    except python_calamine.PasswordError:
        made = _LOCKED
    except BaseException as error:
        made = str(error)[:120] or type(error).__name__
    sys.stdout.buffer.write(pickle.dumps(made))

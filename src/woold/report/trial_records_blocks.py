"""The raw records of a trial, as they were typed: the appendix of its report."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from woold.rows.blocks import Block, Heading, Paragraph, Table
from woold.rows.wording import Wording
from woold.store import Cell, Record
from woold.trial.record_rows import load_record_table
from woold.trial.records import TrialRecords

__all__ = ["record_blocks"]


def record_blocks(records: TrialRecords, say: Wording) -> list[Block]:
    """Every record that counts, in its own words and units; taken-out ones stand in the report.

    Args:
        records: of the trial.
        say: words.
    """
    blocks: list[Block] = [
        Heading(say("Appendix: raw records")),
        Paragraph(
            say(
                "Digit by digit as typed, in the units in which they were typed. {corrected} of"
                " them stand corrected; the store keeps what was there before.",
                corrected=records.corrected,
            )
        ),
        load_record_table(records.loads, say),
    ]
    rest = (_reading_table(records, say), _note_table(records.loads, say))
    return [*blocks, *(each for each in rest if each.rows)]


def _note_table(loads: Sequence[Record], say: Wording) -> Table:
    rows = tuple(
        (each.cells["load"].typed, each.cells["notes"].typed)
        for each in loads
        if "notes" in each.cells and each.cells["notes"].typed
    )
    columns = (say("load"), say("note"))
    return Table(say("Notes on loads"), columns, rows, (0, 1), is_small=True)


def _reading_table(records: TrialRecords, say: Wording) -> Table:
    """Widths and pull readings of each load, in one row."""
    widths = _by_load(records.widths, ("film_width", "height"), say)
    pulls = _pulls_by_load(records.pulls, say)
    names = list(dict.fromkeys([*widths, *pulls]))
    rows = tuple((name, widths.get(name, ""), pulls.get(name, "")) for name in names)
    columns = (
        say("load"),
        say("film widths (width, height)"),
        say("pull readings (time since wrapping: height, side, force)"),
    )
    return Table(
        say("Film widths and pull readings of each load"), columns, rows, (0, 1, 2), is_small=True
    )


def _by_load(records: Iterable[Record], names: Sequence[str], say: Wording) -> dict[str, str]:
    """Readings of each load in one text: "31 N at 250 mm, front, 5 min"."""
    found: dict[str, list[str]] = defaultdict(list)
    for each in records:
        cells = [each.cells[name] for name in names if name in each.cells]
        words = [f"{say.typed(cell.typed)} {cell.unit}".strip() for cell in cells if cell.typed]
        found[each.cells["load"].typed].append(", ".join(words))
    return {load: "; ".join(texts) for load, texts in found.items()}


def _pulls_by_load(records: Iterable[Record], say: Wording) -> dict[str, str]:
    """Pull readings by time and height: "30 min: 250 mm front 31 N, right 29 N; 750 mm ..."."""
    found: dict[str, dict[str, dict[str, list[str]]]] = {}
    for each in records:
        age, height, side, force = (
            f"{say.typed(cell.typed)} {cell.unit}".strip()
            for cell in (each.cells.get(name, Cell("")) for name in _PULL)
        )
        places = found.setdefault(each.cells["load"].typed, {}).setdefault(age, {})
        places.setdefault(height, []).append(f"{say(side)} {force}" if side else force)
    return {load: " | ".join(map(_of_age, ages.items())) for load, ages in found.items()}


_PULL = ("age", "height", "side", "force")


def _of_age(entry: tuple[str, dict[str, list[str]]]) -> str:
    age, places = entry
    words = "; ".join(f"{height} {', '.join(read)}" for height, read in places.items())
    return f"{age}: {words}" if age else words

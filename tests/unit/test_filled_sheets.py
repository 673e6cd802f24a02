"""Sheets as people send them back: each variant with the message that it must give, no other."""

from __future__ import annotations

import copy
import datetime
import shutil
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import openpyxl.utils
import pytest
from odf import table as ods

from filled_sheets import Book, Error, Formula, filled_book, save, text_of
from small_trial import small_trial
from woold.errors import InputError, Question
from woold.store import Store
from woold.trial.importing import Imported, import_written
from woold.trial.load_order import PlannedLoad
from woold.trial.reading import read_written
from woold.trial.setup import trial_from_tables
from woold.trial.starting import start_trial

ALL = {"load": 12, "width": 24, "pull": 72}
TABLES = small_trial()


@dataclass(frozen=True)
class Variant:
    """A way in which a sheet comes back.

    Args:
        name: what was done to it.
        change: does it to the cells.
        told: each problem's field and words of it; nothing where it is taken in as it is.
        said: words of what is said where it is taken in.
        added: what is taken in, after what is asked was confirmed; None where it is refused.
        then: does it to the workbook.
        suffix: how it is saved.
    """

    name: str
    change: Callable[[Book], Any] = lambda _book: None
    told: tuple[tuple[str, str], ...] = ()
    said: tuple[str, ...] = ()
    added: dict[str, int] | None = None
    then: Callable[[Any], Any] | None = None
    suffix: str = ".xlsx"


def put(title: str, cell: str, value: Any) -> Callable[[Book], None]:
    """A change of one cell, or of each cell of an area."""

    def change(book: Book) -> None:
        cells = openpyxl.utils.cell.rows_from_range(cell if ":" in cell else f"{cell}:{cell}")
        for name in (each for line in cells for each in line):
            column, row = openpyxl.utils.cell.coordinate_from_string(name)
            at = openpyxl.utils.column_index_from_string(column) - 1
            rows = book[title]
            while len(rows) < row:
                rows.append([""] * len(rows[0]))
            line = rows[row - 1]
            line += [""] * (at + 1 - len(line))
            line[at] = value(line[at]) if callable(value) else value

    return change


def both(*changes: Callable[[Book], Any]) -> Callable[[Book], None]:
    """Several changes, one after another."""

    def change(book: Book) -> None:
        for each in changes:
            each(book)

    return change


def renamed(old: str, new: str) -> Callable[[Book], None]:
    """Another name of a sheet, in its place."""

    def change(book: Book) -> None:
        items = [(new if title == old else title, rows) for title, rows in book.items()]
        book.clear()
        book.update(items)

    return change


def body(title: str, change: Callable[[list[list[Any]]], list[list[Any]]]) -> Any:
    """Other rows below the heads and units."""

    def of(book: Book) -> None:
        book[title] = book[title][:2] + change(book[title][2:])

    return of


def times(factor: float) -> Callable[[float], float]:
    return lambda value: round(value * factor, 3)


def moved(title: str, old: int, new: int) -> Callable[[Book], None]:
    """A column in another place."""

    def change(book: Book) -> None:
        for line in book[title]:
            line.insert(new, line.pop(old))

    return change


def without_column(title: str, at: int) -> Callable[[Book], None]:
    def change(book: Book) -> None:
        for line in book[title]:
            del line[at]

    return change


def merged(title: str, area: str, value: Any = None) -> Callable[[Any], None]:
    """Cells merged in the workbook; with a value behind the first."""

    def then(book: Any) -> None:
        page = book[title]
        page.merged_cells.add(area)
        if value is not None:
            page[area.partition(":")[2]].value = value

    return then


def exchanged(title: str, one: str, other: str) -> Callable[[Book], None]:
    def change(book: Book) -> None:
        first, second = (openpyxl.utils.cell.coordinate_to_tuple(each) for each in (one, other))
        rows = book[title]
        here, there = rows[first[0] - 1], rows[second[0] - 1]
        here[first[1] - 1], there[second[1] - 1] = there[second[1] - 1], here[first[1] - 1]

    return change


def hidden(title: str, row: int) -> Callable[[Any], None]:
    return lambda book: setattr(book[title].row_dimensions[row], "hidden", True)


def sorted_with_units(title: str) -> Callable[[Book], None]:
    """All rows below the heads sorted by the first column, the row of units among them."""

    def change(book: Book) -> None:
        rows = book[title][1:]
        book[title] = [book[title][0], *sorted(rows, key=lambda line: (str(line[0]) == "unit",))]

    return change


NAME = "where nothing was measured"
_LBF_CELLS = "Pulls!D3:D8, D15:D20, D27:D32, D39:D44, D51:D56, D63:D68"
UNIT = "Is the unit of this column right"
VARIANTS = [
    # As it should be, in every form.
    Variant("as it should be, .xlsx", added=ALL),
    Variant("as it should be, .ods", added=ALL, suffix=".ods"),
    Variant("as it should be, .xls", added=ALL, suffix=".xls"),
    # Sheets.
    Variant("sheet renamed", renamed("Loads", "Tabelle1"),
            (("Tabelle1", 'a sheet with the columns of "Loads", under another name'),), added=ALL),
    Variant("two sheets renamed", both(renamed("Loads", "Day 1"), renamed("Pulls", "Day 1 pulls")),
            (("Day 1", '"Loads"'), ("Day 1 pulls", '"Pulls"')), added=ALL),
    Variant("sheet renamed, .ods", renamed("Pulls", "Forces"), (("Forces", '"Pulls"'),),
            added=ALL, suffix=".ods"),
    Variant("sheet renamed, .xls", renamed("Pulls", "Forces"), (("Forces", '"Pulls"'),),
            added=ALL, suffix=".xls"),
    Variant("sheet name in capitals and with a blank", renamed("Loads", "LOADS "), added=ALL),
    Variant("sheet copied", lambda book: book.update({"Loads (2)": copy.deepcopy(book["Loads"])}),
            (("Loads (2)", 'rows with readings: 12, beside the sheet "Loads"'),), added=ALL),
    Variant("sheet of loads deleted", lambda book: book.pop("Loads"),
            (("Loads", "not in the file; Widths, Pulls name loads 1, 2, 3, 4, 5, 6, …"),)),
    Variant("sheet of pulls deleted", lambda book: book.pop("Pulls"),
            added={"load": 12, "width": 24}),
    Variant("first sheet deleted", lambda book: book.pop("Trial"),
            (("--trial", "no sheet in the file that names its trial"),)),
    Variant("another sheet of sums", lambda book: book.update({"Sums": [["sum", 1], ["x", 2]]}),
            said=("Sums",), added=ALL),
    Variant("an empty sheet more", lambda book: book.update({"Sheet9": []}), added=ALL),
    # Heads and columns.
    Variant("head renamed, needed", put("Loads", "B1", "Variante"),
            (("Loads", 'no column "treatment"'),)),
    Variant("head renamed, not needed", put("Loads", "H1", "film on the scales"),
            (("Loads!H1", 'Did you mean "film on the scale"'),)),
    Variant("head misspelt", put("Pulls", "D1", "pull readings"),
            (("Pulls", 'Was it renamed? Not known: "pull readings" (D1)'),)),
    Variant("head emptied over readings", put("Loads", "K1", ""),
            (("Loads!K3:K14", "in a column without a head"),), added=ALL),
    Variant("needed column deleted", without_column("Loads", 2),
            (("Loads", 'no column "load type"'),)),
    Variant("other column deleted", without_column("Loads", 6), added=ALL),
    Variant("column moved", moved("Loads", 7, 1), added=ALL),
    Variant("first column moved to the end", moved("Pulls", 0, 4), added=ALL),
    Variant("a column twice", put("Loads", "G1", "treatment"),
            (("Loads!G1", '"treatment" again'),)),
    Variant("heads in capitals", put("Loads", "A1:Q1", lambda head: head.upper()), added=ALL),
    Variant("a title above the heads", lambda book: book["Loads"].insert(0, ["Line 1, May"]),
            added=ALL),
    Variant("heads deleted", lambda book: book["Pulls"].pop(0),
            (("Pulls!A1", "no row of column heads"),)),
    # The row of units.
    Variant("row of units sorted to the end", sorted_with_units("Loads"),
            said=("The units of Loads were found in row 14",), added=ALL),
    Variant("row of units deleted", lambda book: book["Loads"].pop(1),
            (("Loads", "no row of units; numbers without a unit: film on the scale (12)"),)),
    Variant("the word before the units deleted", put("Loads", "A2", ""), added=ALL),
    Variant("one unit deleted", put("Loads", "H2", ""),
            (("Loads!H2", "numbers without a unit: 12"),)),
    Variant("unit misspelt", put("Loads", "H2", "gg"), (("Loads!H2", 'unit "gg"'),)),
    Variant("gr as unit", put("Loads", "H2", "gr"), (("Loads!H2", "write g or grain"),)),
    Variant("units in the heads", both(put("Loads", "H1", "film on the scale [g]"),
            put("Loads", "H2", "")), added=ALL),
    Variant("two rows of units", lambda book: book["Pulls"].insert(10, book["Pulls"][1]),
            (("Pulls!A11", "a second row of units"),)),
    Variant("whole column in another unit than it says", put("Loads", "H2", "kg"),
            (("Loads!H2", UNIT),)),
    Variant("all pulls of one treatment in lbf", body("Pulls", lambda rows: [
            [*row[:3], round(row[3] / 4.448, 2) if row[0] % 2 else row[3], row[4]]
            for row in rows]), ((_LBF_CELLS, "In lbf they would fit"),)),
    # Readings.
    Variant("a pull ten times too large", put("Pulls", "D10", times(10)),
            (("Pulls!D10", "N would fit"),), added=ALL),
    Variant("a pull a tenth", put("Pulls", "D10", times(0.1)),
            (("Pulls!D10", "36.5 N or 3.65 kgf would fit"),), added=ALL),
    Variant("two loads in lbf", body("Pulls", lambda rows: [
            [*row[:3], round(row[3] / 4.448, 1) if row[0] in (3, 8) else row[3], row[4]]
            for row in rows]),
            (("Pulls!D15:D20, D45:D50", "In lbf they would fit: was another unit used?"),),
            added=ALL),
    Variant("a pull in kgf", put("Pulls", "D10", times(1 / 9.80665)),
            (("Pulls!D10", "kgf would fit"),), added=ALL),
    Variant("a width of 43 mm", put("Widths", "C5", 43.2),
            (("Widths!C5", "43.2 cm or 432 mm would fit"),), added=ALL),
    Variant("a width in inches", put("Widths", "C5", 17.0), (("Widths!C5", "17 in would fit"),),
            added=ALL),
    Variant("a mass 1.35 times the others", put("Loads", "H6", times(1.35)),
            (("Loads!H6", "times the other loads"),), added=ALL),
    Variant("a mass in ounces", put("Loads", "H6", 6.7), (("Loads!H6", "6.7 oz would fit"),)),
    Variant("a mass in kilograms", put("Loads", "H6", 0.19), (("Loads!H6", "more than the bag"),)),
    Variant("two digits of a mass in the other order", put("Loads", "H6", 910.8),
            (("Loads!H6", "190.8 g would fit"),), added=ALL),
    Variant("a bag of 120 g", put("Loads", "I6", 120), (("Loads!I6", "12 g would fit"),),
            added=ALL),
    Variant("film and bag exchanged", exchanged("Loads", "H6", "I6"),
            (("Loads!H6", "no more than its bag"),)),
    Variant("marks exchanged", exchanged("Loads", "L6", "M6"),
            (("Loads!M6", "times"),), added=ALL),
    Variant("marks in centimetres on the load", put("Loads", "M6", 33.4),
            (("Loads!M6", "334 mm or 33.4 cm would fit"),), added=ALL),
    Variant("marks in centimetres on the roll", put("Loads", "L6", 10),
            (("Loads!L6", "10 cm or 100 mm would fit"),), added=ALL),
    Variant("one mark missing", put("Loads", "L6", ""), (("Loads!L6", "both distances"),)),
    Variant("a time in minutes", put("Loads", "K6", 2.35), (("Loads!K6", "2.35 min would fit"),),
            added=ALL),
    Variant("turns with a slipped point", put("Loads", "J6", 160), (("Loads!J6", "16 would fit"),),
            added=ALL),
    Variant("a height with a slipped point", put("Pulls", "B10", 75),
            (("Pulls!B10", "750 mm"),)),
    Variant("an age in hours", put("Pulls", "E10", 0.5), (("Pulls!E10", "0.5 h would fit"),),
            added=ALL),
    Variant("height and pull exchanged", exchanged("Pulls", "B11", "D11"),
            (("Pulls!B11", 'value of "pull reading" would fit: were the two swapped?'),
             ("Pulls!D11", 'value of "height over the deck" would fit'))),
    Variant("a negative mass", put("Loads", "H6", -190), (("Loads!H6", NAME),)),
    Variant("a mass of 0", put("Loads", "H6", 0), (("Loads!H6", NAME),)),
    Variant("fourteen breaks", put("Loads", "N6", 14), (("Loads!N6", "usual: 0 to 6"),), added=ALL),
    Variant("half a break", put("Loads", "N6", 1.5), (("Loads!N6", "a whole number"),)),
    # What is no number.
    Variant("a number as text", put("Loads", "H6", "190.8"), added=ALL),
    Variant("a number with a unit", put("Loads", "H6", "0.1908 kg"), added=ALL),
    Variant("a number with a unit of trade", put("Pulls", "D10", "6.2 lbf"), added=ALL),
    Variant("a pull in lb", put("Pulls", "D10", "6.2 lb"), (("Pulls!D10", '"lbf"'),)),
    Variant("a mass in gr", put("Loads", "H6", "190.8 gr"), (("Loads!H6", "write g or grain"),)),
    Variant("a decimal comma as text", put("Loads", "H6", "190,8"), added=ALL),
    Variant("all masses as text with decimal commas", put("Loads", "H3:H14",
            lambda mass: str(mass).replace(".", ",")), added=ALL),
    Variant("a word for a mass", put("Loads", "H6", "heavy"), (("Loads!H6", "number"),)),
    Variant("three words for masses are one message", put("Loads", "H6:H8", "?!"),
            (("Loads!H6:H8", "Cells (3): Loads!H6:H8"),)),
    Variant("n/a for a mass", put("Loads", "H6", "n/a"), added=ALL),
    Variant("a dash for marks", put("Loads", "L6:M6", "-"), added=ALL),
    Variant("a date for turns", put("Loads", "J6", datetime.date(2026, 5, 16)),
            (("Loads!J6", "a date or time"),)),
    Variant("a time of day for a cycle", put("Loads", "K6", datetime.time(2, 20)),
            (("Loads!K6", "140 s if minutes and seconds"),)),
    Variant("a date's number for a time", put("Loads", "K6", 46158), (("Loads!K6", "times"),),
            added=ALL),
    Variant("TRUE for a mass", put("Loads", "H6", True), (("Loads!H6", "TRUE"),)),
    # Formulas, errors, merged cells, in every kind of file.
    *(
        Variant(f"a formula, {suffix}", put("Loads", "H6", Formula.of("180+12", 192)),
                (("Loads!H6", "a formula"),), suffix=suffix)
        for suffix in (".xlsx", ".ods", ".xls")
    ),
    *(
        Variant(f"an error cell, {suffix}", put("Loads", "H6", Error("#N/A")),
                (("Loads!H6", "#N/A"),), suffix=suffix)
        for suffix in (".xlsx", ".ods", ".xls")
    ),
    Variant("an error as text", put("Pulls", "D10", "#DIV/0!"), (("Pulls!D10", "#DIV/0!"),)),
    Variant("errors filled down are one message", put("Pulls", "D10:D20", Error("#REF!")),
            (("Pulls!D10:D20", "the error #REF!; allowed: what was read"),)),
    Variant("a formula filled down is one message",
            put("Loads", "H3:H14", Formula.of("A3*2", 180)), (("Loads!H3:H14", "a formula"),)),
    Variant("a formula in an unused column", put("Loads", "T6", Formula.of("1+1", 2)), added=ALL),
    Variant("merged treatments", put("Loads", "B4", ""),
            (("Loads!B3:B4", "merged into one cell; allowed"),), then=merged("Loads", "B3:B4")),
    Variant("a second value behind a merged cell",
            told=(("Loads!H6:H7", "with more behind it: 201.5 (H7)"),),
            then=merged("Loads", "H6:H7", 201.5)),
    Variant("merged notes", put("Loads", "O6", "all three a little loose"), added=ALL,
            then=merged("Loads", "O6:O8")),
    # Rows.
    Variant("rows sorted", body("Loads", lambda rows: sorted(rows, key=lambda row: row[7])),
            added=ALL),
    Variant("rows in the reverse order", body("Pulls", lambda rows: rows[::-1]), added=ALL),
    Variant("a load deleted", body("Loads", lambda rows: rows[:4] + rows[5:]),
            (("Pulls!A27:A32", "load 5"), ("Widths!A11", "load 5"), ("Widths!A12", "load 5"))),
    Variant("pulls of a load deleted", body("Pulls", lambda rows: rows[6:]),
            added={"load": 12, "width": 24, "pull": 66}),
    Variant("a load twice", body("Loads", lambda rows: [*rows, rows[3]]),
            (("Loads!A15", "load 4 again; allowed: once; it stands in Loads!A6"),)),
    Variant("a load twice, as 4 and 04", body("Loads", lambda rows: [*rows, ["04", *rows[3][1:]]]),
            (("Loads!A15", "load 04 again"),)),
    Variant("loads as text, with zeros", put("Pulls", "A3:A74", lambda load: f"{load:02d}"),
            added=ALL),
    Variant("loads as decimal numbers in text", put("Loads", "A3:A14", lambda load: f"{load}.0"),
            added=ALL),
    Variant("a pull twice", body("Pulls", lambda rows: [*rows, rows[0]]),
            (("Pulls!A75", "load 1, height 250, side front"),)),
    Variant("a load that is not planned", both(put("Loads", "A14", 99), body("Pulls", lambda rows:
            [row for row in rows if row[0] != 12]), body("Widths", lambda rows:
            [row for row in rows if row[0] != 12])),
            (("Loads!A14", "load 99, which is not planned"),),
            added={"load": 12, "width": 22, "pull": 66}),
    Variant("treatments of two loads swapped", exchanged("Loads", "B5", "B6"),
            (("Loads!B5", "baseline, where the plan says candidate"), ("Loads!B6", "the plan"))),
    Variant("another type than planned", put("Loads", "C5", "cans"),
            (("Loads!C5", "cans, where the plan says jars"),), added=ALL),
    Variant("an unknown type", put("Loads", "C5", "tins"), (("Loads!C5", "jars, cans"),)),
    Variant("a treatment misspelt", put("Loads", "B5", "candidat"),
            (("Loads!B5", 'Did you mean "candidate"'),)),
    Variant("a side misspelt", put("Pulls", "C5", "frnt"), (("Pulls!C5", 'mean "front"'),)),
    Variant("a needed cell emptied", put("Loads", "C5", ""), (("Loads!C5", "nothing"),)),
    Variant("a bag and breaks filled down", put("Loads", "I15:I40", 12),
            said=("filled down",), added=ALL),
    Variant("a time filled down in pulls", put("Pulls", "E75:E99", 30), said=("Pulls",), added=ALL),
    Variant("a note beside no load", put("Loads", "O20", "line stood still"),
            said=("Loads!O20",), added=ALL),
    Variant("a note beside a load that was not measured", put("Loads", "H14:N14", ""),
            told=(), said=(), added=ALL),
    Variant("a sum below the table", both(put("Loads", "A16", "mean"),
            put("Loads", "H16", Formula.of("AVERAGE(H3:H14)", 190))),
            (("Loads!H16", "a formula"),)),
    Variant("text beside the table", put("Loads", "S6", "broken corner"),
            (("Loads!S6", "'broken corner', in a column without a head"),), added=ALL),
    Variant("ticks beside the table are one message", put("Loads", "S3:S14", "ok"),
            (("Loads!S3:S14", "'ok', in a column without a head"),), added=ALL),
    Variant("rows hidden", said=("hidden were read too: 6",), added=ALL, then=hidden("Loads", 6)),
    Variant("heads again between the rows", body("Pulls", lambda rows: [*rows[:36],
            ["load", "height over the deck", "side", "pull reading", "time since wrapping"],
            *rows[36:]]), added=ALL),
    Variant("blank rows between", body("Loads", lambda rows: [*rows[:5], [""] * 17, *rows[5:]]),
            added=ALL),
    Variant("two masses in each other's rows", exchanged("Loads", "H5", "H6"),
            (("Loads!H5", "It would fit row 6: were the two swapped?"),
             ("Loads!H6", "It would fit row 5: were the two swapped?")), added=ALL),
    Variant("wrapped twice", body("Loads", lambda rows: [*rows, [*rows[3][:14], "", "repeat",
            "film tore"]]), added={**ALL, "attempt": 1}),
    Variant("abandoned", both(put("Loads", "P14", "abandoned"), put("Loads", "Q14", "fell over")),
            added={"load": 11, "width": 24, "pull": 72, "attempt": 1}),
]  # fmt: skip


@pytest.fixture(scope="module")
def prepared(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with the trial and its plan."""
    path = tmp_path_factory.mktemp("store") / "records.sqlite"
    store = Store(str(path))
    order = tuple(
        PlannedLoad(n, str((n + 3) // 4), "day", "", ("baseline", "candidate")[n % 2], "jars")
        for n in range(1, 13)
    )
    start_trial(store, trial_from_tables(TABLES, {}), order, "AB")
    store.close()
    return path


def take(store: Store, path: Path, as_typed: Sequence[str] = ()) -> Imported:
    return import_written(store, read_written(path), "AB", as_typed=as_typed)


@pytest.mark.parametrize("variant", VARIANTS, ids=lambda variant: variant.name)
def test_each_variant_gives_its_message(prepared: Path, tmp_path: Path, variant: Variant) -> None:
    book = filled_book()
    variant.change(book)
    path = save(book, tmp_path / f"sheet{variant.suffix}", variant.then)
    shutil.copyfile(prepared, tmp_path / "records.sqlite")
    store = Store(str(tmp_path / "records.sqlite"))
    try:
        if variant.told:
            with pytest.raises(InputError) as caught:
                take(store, path)
            problems = caught.value.problems
            shown = {each.field: str(each) for each in problems}
            assert list(shown) == [field for field, _ in variant.told], shown
            for field, words in variant.told:
                assert words in shown[field]
            assert store.current("line-1", "load") == []
            if variant.added is None:
                return
            assert all(isinstance(each, Question) for each in problems), shown
            done = take(store, path, [each.field for each in problems])
        else:
            done = take(store, path)
        assert done.added == variant.added
        told = " ".join((*done.said, *done.unread))
        for words in variant.said:
            assert words in told
        if not variant.said:
            assert done.said == ()
    finally:
        store.close()


def as_text(change: Callable[[Book], Any], **how: Any) -> str:
    book = filled_book()
    change(book)
    return text_of(book["Loads"], **how)


TEXTS = [
    ("commas", {}, "utf-8", "", 12),
    ("commas, and decimal commas in quotation marks", {"decimal": ","}, "utf-8", "", 12),
    ("semicolons and decimal commas", {"separator": ";", "decimal": ","}, "utf-8", "", 12),
    ("tabs", {"separator": "\t"}, "utf-8", "", 12),
    ("UTF-16 with tabs", {"separator": "\t"}, "utf-16", "", 12),
    ("UTF-16 with semicolons and commas", {"separator": ";", "decimal": ","}, "utf-16", "", 12),
    ("a sep= line", {"separator": ";", "decimal": ","}, "utf-8", "sep=;\r\n", 12),
    ("a sep= line of another mark", {"separator": "|"}, "utf-8", "sep=|\n", 12),
    ("a sep= line in UTF-16", {"separator": ";"}, "utf-16", "sep=;\r\n", 12),
    ("Windows letters", {"separator": ";", "decimal": ","}, "cp1252", "", 12),
    ("a title above the heads", {}, "utf-8", "Line 1, May\n\n", 12),
]


@pytest.mark.parametrize(("name", "how", "encoding", "first", "count"), TEXTS)
def test_text_of_every_locale_is_the_same_sheet(
    prepared: Path, tmp_path: Path, name: str, how: dict[str, str], encoding: str, first: str,
    count: int,
) -> None:  # fmt: skip
    """The masses that are kept are those of the book, whatever the file's marks."""
    path = tmp_path / "loads.csv"
    put_note = put("Loads", "O4", "Größe ½")
    text = as_text(put_note, **how)
    if encoding == "cp1252":
        text = text.replace("½", "1/2")
    path.write_bytes((first + text).encode(encoding))
    shutil.copyfile(prepared, tmp_path / "records.sqlite")
    store = Store(str(tmp_path / "records.sqlite"))
    done = import_written(store, read_written(path), "AB", "line-1")
    kept = [each.cells["film_mass"].si for each in store.current("line-1", "load")]
    store.close()
    assert done.added == {"load": count}, name
    masses = [line[7] / 1000 for line in filled_book()["Loads"][2:]]
    assert kept == pytest.approx(masses)


TEXT_FAULTS = [
    ("a formula", put("Loads", "H6", "=180+12"), "loads.csv!H5", "a formula"),
    ("a formula with another sign", put("Loads", "H6", "+A1*2"), "loads.csv!H5", "a formula"),
    ("a command", put("Loads", "O6", "@SUM(A1:A9)"), "loads.csv!O5", "a formula"),
    ("a link", put("Loads", "O6", '=HYPERLINK("http://example.invalid")'), "loads.csv!O5",
     "a formula"),
    ("an error", put("Loads", "H6", "#N/A"), "loads.csv!H5", "the error #N/A"),
    ("gr", put("Loads", "H6", "190 gr"), "loads.csv!H5", "write g or grain"),
    ("an ambiguous comma", put("Loads", "H6", "1,908 kg"), "loads.csv!H5", "whichever is meant"),
    ("beyond all numbers", put("Loads", "H6", "181e3080"), "loads.csv!H5", "'181e3080'"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "change", "field", "words"), TEXT_FAULTS)
def test_text_is_guarded_as_workbooks_are(
    prepared: Path, tmp_path: Path, name: str, change: Any, field: str, words: str
) -> None:
    path = tmp_path / "loads.csv"
    path.write_text(as_text(change), encoding="utf-8")
    store = Store(str(shutil.copyfile(prepared, tmp_path / "records.sqlite")))
    with pytest.raises(InputError) as caught:
        import_written(store, read_written(path), "AB", "line-1")
    store.close()
    assert [each.field for each in caught.value.problems] == [field], name
    assert words in str(caught.value)


def test_a_note_that_begins_like_a_formula_is_a_note(prepared: Path, tmp_path: Path) -> None:
    """An arrow, a dash or a plus before words calculates nothing."""
    path = tmp_path / "loads.csv"
    notes = ("=> corner torn", "- loose", "+ second tail", "-")
    change = both(*(put("Loads", f"O{row}", text) for row, text in enumerate(notes, start=3)))
    path.write_text(as_text(change), encoding="utf-8")
    store = Store(str(shutil.copyfile(prepared, tmp_path / "records.sqlite")))
    assert import_written(store, read_written(path), "AB", "line-1").added == {"load": 12}
    kept = [each.cells["notes"].typed for each in store.current("line-1", "load")[:4]]
    store.close()
    assert kept == list(notes)


def test_a_decimal_comma_that_the_file_proves_parts_decimals(
    prepared: Path, tmp_path: Path
) -> None:
    """1,908 alone may be thousands; beside 12,5 in a file of semicolons it is not."""
    path = tmp_path / "loads.csv"
    change = both(put("Loads", "H6", "190,800"), put("Loads", "I6", "12,5"))
    path.write_text(as_text(change, separator=";", decimal=","), encoding="utf-8")
    store = Store(str(shutil.copyfile(prepared, tmp_path / "records.sqlite")))
    import_written(store, read_written(path), "AB", "line-1")
    cell = store.current("line-1", "load")[3].cells["film_mass"]
    store.close()
    assert (cell.typed, cell.si) == ("190,800", pytest.approx(0.1908))


def test_values_behind_merged_cells_are_told_in_ods(tmp_path: Path) -> None:
    """A covered cell of OpenDocument keeps its value; nobody sees it."""

    def cover(book: Any) -> None:
        page = next(each for each in book.spreadsheet.getElementsByType(ods.Table)
                    if each.getAttribute("name") == "Loads")  # fmt: skip
        rows = page.getElementsByType(ods.TableRow)
        cell = rows[5].getElementsByType(ods.TableCell)[7]
        cell.setAttribute("numberrowsspanned", 2)
        cell.setAttribute("numbercolumnsspanned", 1)
        below = rows[6].getElementsByType(ods.TableCell)[7]
        covered = ods.CoveredTableCell(valuetype="float", value="201.5")
        rows[6].insertBefore(covered, below)
        rows[6].removeChild(below)

    written = read_written(save(filled_book(), tmp_path / "sheet.ods", cover))
    (problem,) = written.problems
    assert (problem.field, "201.5 (H7)" in problem.given) == ("Loads!H6:H7", True)


@pytest.mark.parametrize("prefix", ["x:", ""])
def test_a_formula_is_found_however_the_xml_is_written(tmp_path: Path, prefix: str) -> None:
    """Names with a prefix, attributes in another order, cells without an address: all are allowed
    by the standard (ECMA-376, part 1, 18.3.1)."""
    import zipfile

    path = save({"Loads": filled_book()["Loads"]}, tmp_path / "plain.xlsx")
    other = tmp_path / "other.xlsx"
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(other, "w") as new:
        for name in old.namelist():
            content = old.read(name)
            if name == "xl/worksheets/sheet1.xml":
                text = content.decode()
                assert '<c r="H6" t="n"><v>' in text
                text = text.replace('<c r="H6" t="n"><v>', '<c t="n" r="H6"><f>1+1</f><v>')
                if prefix:
                    text = text.replace("<", f"<{prefix}").replace(f"<{prefix}/", f"</{prefix}")
                    text = text.replace(" xmlns=", f" xmlns:{prefix[:-1]}=")
                content = text.encode()
            new.writestr(name, content)
    (problem,) = read_written(other).problems
    assert (problem.field, problem.given) == ("Loads!H6", "a formula")

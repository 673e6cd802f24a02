"""Files made to cost memory or time, or to bring a reader down: one message, and neither is spent.

Workbooks are written by libraries (see `filled_sheets`) and then spoilt. Where cells, rows and
links stand: ECMA-376 part 1, 18.3.1; OpenDocument 1.3 part 3, 9.1; [MS-CFB] 2.2.
"""

from __future__ import annotations

import io
import re
import struct
import time
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from filled_sheets import filled_book, save
from woold.case.file import read_case
from woold.errors import InputError
from woold.line.catalogue_table import read_catalogue_table
from woold.tables.parquet import parquet_frame
from woold.trial.reading import read_written

LOADS = "xl/worksheets/sheet2.xml"
FAR = b'<row r="1048576"><c %s><v>1</v></c></row>'
MAIN = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"

Spoil = Callable[[bytes], bytes]


def spoilt(content: bytes, part: str, spoil: Spoil, moved: str = "") -> bytes:
    """A packed workbook with one part changed, and stored under another name if one is given."""
    made = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as book,
        zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as packed,
    ):
        for name in book.namelist():
            text = book.read(name)
            if moved and name.endswith(".rels"):
                text = text.replace(part.encode(), moved.encode())
            text = spoil(text) if name == part else text
            packed.writestr(moved if moved and name == part else name, text)
    return made.getvalue()


def added(text: bytes) -> Spoil:
    return lambda sheet: sheet.replace(b"</sheetData>", text + b"</sheetData>")


def without_addresses(sheet: bytes) -> bytes:
    """Sixteen thousand cells in a row, then many rows; none says where it stands."""
    bare = re.sub(rb' r="[A-Z]+\d+"', b"", sheet)
    return added(b"<row>" + b"<c/>" * 16_000 + b"</row>" + b"<row><c/></row>" * 9000)(bare)


BOOKS: dict[str, tuple[Spoil, str]] = {
    "far": (added(FAR % b'r="XFD1048576"'), "row 1,048,576, column 16,384"),
    "other quotes": (added(FAR % b"r='XFD1048576'"), "row 1,048,576, column 16,384"),
    "other spaces": (added(FAR % b'\nr = "XFD1048576"'), "row 1,048,576, column 16,384"),
    "a letter by number": (added(FAR % b'r="&#88;FD1048576"'), "row 1,048,576, column 16,384"),
    "a prefix": (
        added(b'<row><x:c xmlns:x="%s" r="XFD1048576"/></row>' % MAIN),
        "row 1,048,576, column 16,384",
    ),
    "a sign in a value": (added(FAR % b'a=">" r="XFD1048576"'), "row 1,048,576, column 16,384"),
    "no addresses": (without_addresses, "column 16,000"),
    "many cells": (added(b'<row r="190000"><c r="SA190000"/></row>'), "cells, the empty ones"),
    "entities": (
        lambda sheet: sheet.replace(
            b"<worksheet", b'<!DOCTYPE a [<!ENTITY a "aaaaaaaaaaaaaaa">]><worksheet', 1
        ),
        "entities of its own",
    ),
    "an unknown encoding": (
        lambda sheet: (
            b'<?xml version="1.0" encoding="U6F-8"?>' + sheet[sheet.index(b"<worksheet") :]
        ),
        "damaged workbook",
    ),
    "no XML": (lambda sheet: sheet.replace(b"</row>", b"", 1), "damaged workbook"),
}


@pytest.mark.parametrize("name", BOOKS)
def test_workbook_that_would_cost_memory(tmp_path: Path, name: str) -> None:
    spoil, words = BOOKS[name]
    path = tmp_path / "book.xlsx"
    path.write_bytes(spoilt(save(filled_book(), path).read_bytes(), LOADS, spoil))
    with pytest.raises(InputError, match=words) as caught:
        read_written(path)
    assert "book.xlsx" in str(caught.value)


def test_a_sheet_under_another_name_is_looked_at_too(tmp_path: Path) -> None:
    path = tmp_path / "book.xlsx"
    sound = save(filled_book(), path).read_bytes()
    far = added(FAR % b'r="XFD1048576"')
    path.write_bytes(spoilt(sound, "xl/worksheets/sheet2.xml", far, "xl/worksheets/A/b.XML"))
    with pytest.raises(InputError, match="row 1,048,576"):
        read_written(path)


def test_merged_cells_over_one_another_take_no_time(tmp_path: Path) -> None:
    path = tmp_path / "book.xlsx"
    areas = b"".join(b'<mergeCell ref="A%d:XFD1048576"/>' % n for n in range(1, 2000))
    end = b"</sheetData><mergeCells>%s</mergeCells>" % areas
    sound = save(filled_book(), path).read_bytes()
    path.write_bytes(spoilt(sound, LOADS, lambda sheet: sheet.replace(b"</sheetData>", end)))
    start = time.process_time()
    written = read_written(path)
    assert time.process_time() - start < 2.0
    assert any("over other merged cells" in str(each) for each in written.problems)


def test_repeated_rows_of_an_opendocument_sheet(tmp_path: Path) -> None:
    path = tmp_path / "book.ods"
    sound = save(filled_book(), path).read_bytes()
    more = b'<table:table-row table:number-rows-repeated="1048576">'
    path.write_bytes(
        spoilt(sound, "content.xml", lambda text: text.replace(b"<table:table-row>", more))
    )
    with pytest.raises(InputError, match="more memory or time than a sheet is worth"):
        read_written(path)


def test_a_chain_of_sectors_without_end(tmp_path: Path) -> None:
    path = tmp_path / "book.xls"
    content = bytearray(save(filled_book(), path).read_bytes())
    (table,) = struct.unpack_from("<I", content, 76)  # of sectors: each one's next
    for sector in range(40):
        if sector != table:
            struct.pack_into("<I", content, 512 * (table + 1) + 4 * sector, sector)
    path.write_bytes(content)
    with pytest.raises(InputError, match="more memory or time than a sheet is worth"):
        read_written(path)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('x = """\\""" """\n{deep} = 1\ny = """ """', "a key of many parts, near line 2"),
        ('x = ["""a"""", {{{deep} = 1}}, """b"""]', "a key of many parts"),
        ("x = ['''a'''', {{{deep} = 1}}, '''b''']", "a key of many parts"),
        ("\"a\" . 'b' . {deep} = 1", "a key of many parts"),
        ("[{deep}]", "a key of many parts"),
        ("[program]\nbands = [{many}]", "at most 20 entries"),
        ("x = {brackets}", "nested too deeply"),
    ],
)
def test_toml_that_would_cost_memory(tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "case.toml"
    many = "{}," * 100_000
    path.write_text(text.format(deep=".".join("a" * 20_000), many=many, brackets="[" * 50_000))
    tracemalloc.start()
    with pytest.raises(InputError, match=words):
        read_case(path)
    assert tracemalloc.get_traced_memory()[1] < 100e6
    tracemalloc.stop()


def test_marks_in_strings_are_no_keys() -> None:
    """Strings as TOML 1.0 has them: escaped marks, one or two of their own before the last."""
    from woold.case.toml_text import parsed_toml

    deep = ".".join("abcdefghijk")
    text = f'a = """{deep} \\""" {deep}""""\nb = \'\'\'{deep}\'\'\'\'\'\nc = "{deep}" # {deep}\n'
    read = parsed_toml(text, "case.toml", "a case")
    assert read == {"a": f'{deep} """ {deep}"', "b": f"{deep}''", "c": deep}


def test_parquet_that_would_cost_memory(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import polars as pl

    from woold.tables import parquet

    path = tmp_path / "loads.parquet"
    wide = {f"c{n}": pl.repeat(1.0, 1000, eager=True) for n in range(20)}
    pl.DataFrame(wide).write_parquet(path)
    monkeypatch.setattr(parquet, "_MOST_CELLS", 19_000)
    with pytest.raises(InputError, match="1,000 rows of 20 columns"):
        parquet_frame(path)
    pl.DataFrame({"load": ["x" * 20_000]}).write_parquet(path)
    with pytest.raises(InputError, match="a cell of 20,000 letters"):
        parquet_frame(path)
    # A column of lists may hold any number of values: nothing of it is read.
    pl.DataFrame({"load": ["a"], "all": [list(range(1000))]}).write_parquet(path)
    assert parquet_frame(path).rows() == [("a", None)]


def test_a_damaged_catalogue_in_parquet(tmp_path: Path) -> None:
    import polars as pl

    path = tmp_path / "loads.parquet"
    pl.DataFrame({"load": ["a", "b"], "height [m]": [1.2, 1.3]}).write_parquet(path)
    content = bytearray(path.read_bytes())
    content[4:60] = b"\xff" * 56
    path.write_bytes(content)
    with pytest.raises(InputError, match=r"loads\.parquet.*Copy it again"):
        read_catalogue_table(path)


def test_parquet_that_ends_its_reader_ends_a_process_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A size in a page that no memory holds lets the engine end its process at once."""
    import polars as pl

    from woold.tables import parquet

    path = tmp_path / "loads.parquet"
    pl.DataFrame({"load": ["a", "b"]}).write_parquet(path)
    assert parquet_frame(path).rows() == [("a",), ("b",)]
    killed = "import os; os.abort()"
    run = parquet.subprocess.run
    monkeypatch.setattr(
        parquet.subprocess, "run", lambda words, **how: run([words[0], "-c", killed], **how)
    )
    with pytest.raises(InputError, match="damaged, or more than is worth its memory"):
        parquet_frame(path)

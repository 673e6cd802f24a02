"""Tables as other programs write them: one reader for all, and damaged files that cost nothing."""

from __future__ import annotations

import io
import math
import subprocess
import sys
import zipfile
from importlib.resources import files
from pathlib import Path

import pytest

from woold.carriages.film_test import fit_film
from woold.carriages.tensile_file import Specimen, read_tensile_test
from woold.dancer.trace_file import TraceColumns, read_trace
from woold.errors import InputError
from woold.sites.read_sites import read_sites
from woold.tables.text_table import table_of
from woold.tables.workbook import require_sound_workbook
from woold.transport.measured import how_read
from woold.trial.gauge_study import tables_in_file
from woold.trial.reading import read_written
from woold.watch.records import read_records

SITES = [["site", "saving", "standard_error", "loads"], ["A", "5.1 %", "1.2 %", "40"],
         ["B", "3.5 %", "1.0 %", "n/a"]]  # fmt: skip


def written(rows: list[list[str]], mark: str, comma: bool) -> str:
    """The rows as a text table."""
    cells = [[cell.replace(".", ",") if comma else cell for cell in row] for row in rows]
    return "\r\n".join(mark.join(row) for row in cells) + "\r\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le"])
@pytest.mark.parametrize(("mark", "comma"), [(",", False), (";", True), (";", False), ("\t", True)])
def test_sites_in_every_dialect(tmp_path: Path, mark: str, comma: bool, encoding: str) -> None:
    path = tmp_path / "sites.csv"
    path.write_bytes(written(SITES, mark, comma).encode(encoding))
    table = read_sites(path)
    assert [each.saving for each in table.sites] == pytest.approx([0.051, 0.035])
    assert [each.loads for each in table.sites] == [40, 0]


def test_headings_carry_units(tmp_path: Path) -> None:
    path = tmp_path / "sites.csv"
    path.write_text("site;saving [%];standard_error (%)\nA;5,1;1,2\nB;3,5;1,0\n", encoding="utf-8")
    assert [each.saving for each in read_sites(path).sites] == pytest.approx([0.051, 0.035])


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
def test_cycles_in_another_dialect(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "cycles.csv"
    rows = "".join(f"2026-03-01 10:{n:02d}:00;m;{200 + n},5\r\n" for n in range(30))
    text = f"time;machine;Film mass [g]\r\n{rows}2026-03-02 10:00:00;m;n/a\r\n"
    path.write_bytes(text.encode(encoding))
    records = read_records([path])
    assert records.frame["film_mass_kg"][0] == pytest.approx(0.2005)
    (told,) = (each.message for each in records.findings if each.code == "read_as")
    assert "semicolons" in told
    assert "comma as decimal mark" in told


@pytest.mark.parametrize(
    ("text", "encoding", "told"),
    [
        ("time [ms];dancer, arm [deg]\n{rows}", "utf-8", "semicolons"),
        ('"time [ms]";"dancer, arm [deg]"\n{rows}', "utf-8-sig", "semicolons"),
        ("time [ms]\tdancer; arm, left [deg]\n{rows}", "utf-16-le", "UTF-16 and tabs"),
        ("time [\u00b5s];dancer, arm [deg]\n{rows}", "cp1252", "Windows-1252"),
    ],
)
def test_trace_with_marks_in_its_headings(
    tmp_path: Path, text: str, encoding: str, told: str
) -> None:
    path = tmp_path / "trace.csv"
    mark = "\t" if "\t" in text else ";"
    rows = "".join(f"{1000 * n}{mark}{n % 7 + 0.5}\r\n" for n in range(60)).replace(".", ",")
    path.write_bytes(text.format(rows=rows + f"\u2212{mark}1,5\r\n").encode(encoding, "replace"))
    named = [part.split(" [")[0].strip('"') for part in text.split("\n")[0].split(mark)]
    found = read_trace(path, TraceColumns(position=named[1]))
    assert (found.rows, found.missing) == (60, 1)
    assert found.trace.time[-1] == pytest.approx(59e-3 if "\u00b5" in text else 59.0)
    assert found.trace.position.max() == pytest.approx(math.radians(6.5))
    assert all(part in found.read_as for part in told.split(" and "))
    assert "a comma as decimal mark" in found.read_as


def test_tensile_test_in_utf_16(tmp_path: Path) -> None:
    path = tmp_path / "test.csv"
    lines = [f"{e},0;{s},5" for e, s in ((0, 0), (10, 8), (100, 9), (200, 12))]
    path.write_bytes("\n".join(("strain [%];stress [MPa]", *lines)).encode("utf-16"))
    test = read_tensile_test(path, Specimen())
    assert test.stresses[-1] == pytest.approx(12.5e6)


def test_what_is_no_text_is_refused() -> None:
    with pytest.raises(InputError, match="no text"):
        table_of(b"\x89PNG\r\n\x00\x00" + bytes(range(256)), "picture", "a table")
    with pytest.raises(InputError, match="line 2"):
        table_of(b'a,b\n"1,2\n', "cut.csv", "a table")


def workbook(sheet: str, drop: str = "", names: str = "Loads") -> bytes:
    """A workbook of one sheet, by hand, after ECMA-376 part 1."""
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    kinds = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    parts = {
        "[Content_Types].xml": '<Types xmlns="http://schemas.openxmlformats.org/package/2006/'
        'content-types"><Default Extension="xml" ContentType="application/xml"/></Types>',
        "xl/workbook.xml": f'<workbook xmlns="{main}" xmlns:r="{kinds}"><sheets>'
        f'<sheet name="{names}" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": '<Relationships xmlns="http://schemas.openxmlformats.org/'
        f'package/2006/relationships"><Relationship Id="r1" Type="{kinds}/worksheet"'
        ' Target="worksheets/sheet1.xml"/></Relationships>',
        "xl/worksheets/sheet1.xml": f'<worksheet xmlns="{main}"><sheetData>{sheet}</sheetData>'
        "</worksheet>",
    }
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in parts.items():
            if name != drop:
                archive.writestr(name, text)
    return stream.getvalue()


ROW = '<row r="1"><c r="A1" t="inlineStr"><is><t>load</t></is></c></row>'
FAR = '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'


def crc_spoilt() -> bytes:
    """A workbook whose sheet does not have the checksum that the archive states."""
    content = workbook(ROW)
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        crc = archive.getinfo("xl/worksheets/sheet1.xml").CRC
    return content.replace(crc.to_bytes(4, "little"), b"\x01\x02\x03\x04")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (workbook(ROW + FAR), r"row 1,048,576, column 16,384"),
        (workbook("<row>" + " " * 350_000_000 + "</row>"), "unpacks to"),
        (crc_spoilt(), "damaged workbook"),
        (workbook(ROW, drop="xl/worksheets/sheet1.xml"), "without its part xl/worksheets"),
        (workbook(ROW, drop="xl/workbook.xml"), "without its part xl/workbook.xml"),
        (workbook(ROW, drop="xl/_rels/workbook.xml.rels"), "not readable|no sheet"),
        (workbook(ROW)[:-40], "damaged workbook"),
        (workbook(ROW, names="<"), "damaged workbook"),
    ],
    ids=["far", "bomb", "crc", "no sheet", "no book", "no links", "cut", "bad xml"],
)
def test_damaged_workbooks_are_refused(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "book.xlsx"
    path.write_bytes(content)
    with pytest.raises(InputError, match=words):
        read_written(path)


def test_a_sound_workbook_is_let_through() -> None:
    require_sound_workbook(workbook(ROW), "book.xlsx", "a workbook")


@pytest.mark.parametrize("spoil", ["cut", "footer", "empty", "body"])
@pytest.mark.parametrize("command", ["loads", "fleet"])
def test_damaged_parquet_ends_with_one_message(tmp_path: Path, spoil: str, command: str) -> None:
    import polars as pl

    path = tmp_path / "cycles.parquet"
    pl.DataFrame({"time": ["2026-03-01 10:00:00"] * 50, "machine": ["m"] * 50,
                  "film_mass_g": [200.0 + n for n in range(50)]}).write_parquet(path)  # fmt: skip
    content = bytearray(path.read_bytes())
    if spoil == "cut":
        content = content[:-100]
    elif spoil == "footer":
        content[-60:-12] = b"\xff" * 48
    elif spoil == "body":
        content[4:120] = b"\xff" * 116
    else:
        content = bytearray()
    path.write_bytes(bytes(content))
    done = subprocess.run(
        [sys.executable, "-m", "woold", "watch", command, str(path)],
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 2, done.stderr
    assert "Traceback" not in done.stderr
    assert "unforeseen" not in done.stderr
    assert "source" in done.stderr or "cycles.parquet" in done.stderr


def test_fleet_reads_what_loads_reads(tmp_path: Path) -> None:
    import json

    path = tmp_path / "cycles.csv"
    days = [f"2026-{m:02d}-{d:02d} 1{h}:00:00;m1;{200 + h},0"
            for m in (1, 2) for d in range(1, 28) for h in range(6)]  # fmt: skip
    path.write_text("time;machine;film_mass_g\n" + "\n".join([*days, "x;m1;1,0"]), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "woold", "watch", "fleet", str(path), "--json"],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode in (0, 1), done.stderr
    document = json.loads(done.stdout)
    assert {"read_as", "rows_set_aside"} <= {each["code"] for each in document["findings"]}
    assert document["machines"][0]["loads"] == len(days)


def test_fleet_says_bad_cells_of_parquet_as_loads_does(tmp_path: Path) -> None:
    import json

    import polars as pl

    times = [f"2026-{m:02d}-{d:02d} 1{h}:00:00"
             for m in (1, 2) for d in range(1, 28) for h in range(6)]  # fmt: skip
    film = [f"{200 + n % 5}" for n in range(len(times))]
    film[3], film[7], film[11] = "1 roll", "-5", "0"
    pl.DataFrame(
        {"time": times, "machine": ["m1"] * len(times), "film_mass_g": film}
    ).write_parquet(tmp_path / "cycles.parquet")
    said = {}
    for command in ("loads", "fleet"):
        done = subprocess.run(
            [sys.executable, "-m", "woold", "watch", command, str(tmp_path / "cycles.parquet"),
             "--json"],
            capture_output=True, text=True, timeout=120, check=False,
        )  # fmt: skip
        assert done.returncode in (0, 1), done.stderr
        document = json.loads(done.stdout)
        (said[command],) = [
            each["message"] for each in document["findings"] if each["code"] == "rows_set_aside"
        ]
    assert said["fleet"] == said["loads"]
    assert "that is no number (1: row 4: '1 roll')" in said["fleet"]
    assert "not above 0 (2: row 8: '-5', row 12: '0')" in said["fleet"]
    assert document["machines"][0]["loads"] == len(times) - 3


def test_every_reader_says_how_a_table_was_read(tmp_path: Path) -> None:
    told = {}
    path = tmp_path / "t.csv"
    rows = "".join(f"{n / 50:.2f};{n % 7},5\n".replace(".", ",") for n in range(60))
    path.write_text("time [s];arm [deg]\n" + rows, encoding="utf-16")
    told["trace"] = read_trace(path).read_as
    assert "'arm [deg]' as position" in told["trace"]
    path.write_text(
        "acceleration;ramp [s];hold [s];height [mm];largest [mm]\n0,45;0,05;0,4;250;12\n",
        encoding="utf-16",
    )
    (finding,) = how_read([str(path), "0.45, 0.05 s, 0.4 s, 250 mm, 12 mm"])
    told["slips"] = finding.message
    path.write_text(
        "gauge;part;person;repeat;reading\n"
        + "".join(f"scale [g];{p};{who};1;{p},5\n" for p in (1, 2) for who in "AB"),
        encoding="utf-16",
    )
    told["gauge"] = tables_in_file(str(path))["scale [g]"].read_as
    path.write_text(
        "load;treatment;load type;film mass [g]\n1;baseline;jars;180,5\n", encoding="utf-16"
    )
    told["sheet"] = read_written(path).read_as
    for reader, sentence in told.items():
        assert "semicolons" in sentence, (reader, sentence)
        assert "UTF-16" in sentence, (reader, sentence)
    for reader in ("trace", "slips", "gauge", "sheet"):
        assert "comma as decimal mark" in told[reader], reader


def test_film_test_says_how_its_table_was_read(tmp_path: Path) -> None:
    demo = files("woold.demo").joinpath("files", "tensile-test.csv").read_text(encoding="utf-8")
    plain = tmp_path / "plain.csv"
    plain.write_text("Strain, %;Stress [MPa]\n" + "".join(
        line.replace(",", ";").replace(".", ",") + "\n" for line in demo.splitlines()
        if line[:1].isdigit()
    ), encoding="utf-8")  # fmt: skip
    report = fit_film(read_tensile_test(plain), "plain.csv")
    (told,) = [each.message for each in report.findings if each.code == "read_as"]
    assert "semicolons between columns, a comma as decimal mark" in told
    assert "column 'Strain, %' as elongation in %" in told

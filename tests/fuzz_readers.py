"""Seeded mutated inputs over every reader: no traceback, no number that is not finite, no wait.

Run as a program with a count and a seed: `python tests/fuzz_readers.py 100000 1`.
"""

from __future__ import annotations

import functools
import io
import json
import random
import resource
import signal
import sys
import tempfile
import time
import traceback
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, fields, is_dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import BaseModel

from woold.carriages.tensile_file import Specimen, read_tensile_test
from woold.case.file import read_case, starter_text
from woold.case.shelf import read_shelf
from woold.dancer.trace_file import read_trace
from woold.demo.line_loads import write_line_loads
from woold.errors import InputError, Question, WooldError, errors_in
from woold.line.catalogue import read_catalogue
from woold.line.line_file import read_line
from woold.line.release_file import read_release
from woold.line.release_starter import release_starter_text
from woold.line.starter import starter_text as line_starter_text
from woold.prediction.predict import predict
from woold.sites.claim_reader import read_claim
from woold.sites.read_sites import read_sites
from woold.store.store import Store
from woold.transport.measured import read_recording, read_rows
from woold.trial.gauge_study import tables_in_file
from woold.trial.pilot import pilot_spread
from woold.trial.reading import read_written
from woold.trial.setup import read_trial
from woold.trial.unsent import read_unsent, take_unsent
from woold.units import KINDS, parse_money, parse_quantity
from woold.watch.records import read_records
from woold.watch.settings import read_settings

LONGEST = 10
"""Seconds that one input may take."""
MOST_MEMORY = 1 << 30
"""Bytes that all of them may take."""

_WORDS = (
    "nan", "inf", "-1", "0", "1e308", "1e-308", "9" * 40, "", " ", "1,2,3", "1.200,5", "5 ft 3 in",
    "\u2212", "\u00bd", '"', "'", "[", "]]", "{", "=", "\n", "\t", ";", "\x00", "\ufeff", "a.a.a.a",
    "kg", "m", "lb", "#", "n/a", "-", "12 1/min", "100000000000 m", "1/0 in", "true", "2026-99-99",
    "[" * 40, "a." * 30 + "a = 1", "\U0001f600",
)  # fmt: skip


@dataclass
class Outcome:
    """What came of the inputs, by reader."""

    tried: Counter[str] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    longest: float = 0.0
    longest_of: str = ""

    @property
    def memory(self) -> int:
        """Most memory that the process ever held [bytes]."""
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


def mutated(content: bytes, rng: random.Random) -> bytes:
    """The content with a few bytes changed, pieces cut, doubled or swapped, and words put in."""
    made = bytearray(content)
    for _ in range(rng.choice((1, 1, 2, 3, 8))):
        place = rng.randrange(len(made) + 1)
        match rng.randrange(7):
            case 0 if made:
                made[min(place, len(made) - 1)] = rng.randrange(256)
            case 1:
                del made[place : place + rng.choice((1, 4, 40, 4000))]
            case 2:
                made[place:place] = made[place : place + rng.choice((1, 10, 300))]
            case 3:
                made = made[:place]
            case _:
                word = rng.choice(_WORDS).encode("utf-8")
                made[place : place + rng.choice((0, len(word)))] = word
    return bytes(made)


def mutated_book(content: bytes, rng: random.Random) -> bytes:
    """A workbook one of whose parts is changed, and that is packed as it should be."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as book, zipfile.ZipFile(made, "w") as packed:
        parts = {each: book.read(each) for each in book.namelist()}
        changed = rng.choice([each for each in parts if parts[each]])
        for name, part in parts.items():
            packed.writestr(name, mutated(part, rng) if name == changed else part)
    return made.getvalue()


def _money(_path: Path, content: bytes) -> None:
    parse_money(content.decode("utf-8", errors="replace")[:70], "kg", "price")


def _case(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    case = _confirmed(read_case, path)
    with errors_in(path):
        json.dumps(predict(case).to_json(), allow_nan=False)


def _confirmed(read: Callable[[Path, list[str]], Any], path: Path) -> Any:
    """What a file holds, read as by somebody who says of every question that it is right."""
    right: list[str] = []
    while True:
        try:
            return read(path, right)
        except InputError as error:
            if not all(isinstance(each, Question) for each in error.problems):
                raise
            asked = [each.field for each in error.problems]
            assert not set(asked) & set(right), f"asked again: {asked}"
            right += asked


def _of_settings(read: Callable[[Path, list[str]], Any]) -> Callable[[Path, bytes], None]:
    return _on_file(lambda path: _confirmed(read, path))


def _quantity(_path: Path, content: bytes) -> None:
    text = content.decode("utf-8", errors="replace")[:70]
    refusals = []
    for kind in KINDS:
        try:
            assert abs(parse_quantity(text, kind, "field")) < float("inf")
        except WooldError as error:
            refusals.append(error)
    if len(refusals) == len(KINDS):
        raise refusals[0]


def _tensile(path: Path) -> None:
    read_tensile_test(path, Specimen(0.02, 2e-5, 0.05))


def _on_file(read: Callable[[Path], Any]) -> Callable[[Path, bytes], None]:
    def run(path: Path, content: bytes) -> None:
        path.write_bytes(content)
        bad = next(_not_finite(read(path), "result"), "")
        assert not bad, f"{bad} is not finite"

    return run


def _not_finite(value: Any, name: str) -> Iterator[str]:
    """Names of the numbers in a result that are infinite or none."""
    import polars as pl

    if isinstance(value, float | np.ndarray | np.floating):
        numbers = np.asarray(value)
        if numbers.dtype.kind == "f" and not np.isfinite(numbers).all():
            yield name
    elif isinstance(value, pl.DataFrame):
        for column in value.select(pl.col(pl.Float64)).iter_columns():
            if not column.drop_nulls().is_finite().all():
                yield f"{name}.{column.name}"
    elif isinstance(value, Mapping):
        for key, each in value.items():
            yield from _not_finite(each, f"{name}.{key}")
    elif isinstance(value, list | tuple):
        for index, each in enumerate(value):
            yield from _not_finite(each, f"{name}[{index}]")
    elif isinstance(value, BaseModel):
        yield from _not_finite(dict(value), name)
    elif is_dataclass(value):
        for each in fields(value):
            yield from _not_finite(getattr(value, each.name), f"{name}.{each.name}")


def _records(path: Path, as_typed: list[str]) -> Any:
    return read_records([path], as_typed=as_typed)


def _loads(path: Path, as_typed: list[str]) -> Any:
    """Loads of the demo's line, which is sound."""
    line = path.with_name(f"line of {path.name}.toml")
    if not line.exists():
        text = files("woold.demo").joinpath("files/line.toml").read_text("utf-8")
        line.write_text(text.replace("line-loads.csv", path.name), encoding="utf-8")
    return read_catalogue(read_line(line), as_typed)


def _claim(_path: Path, content: bytes) -> None:
    read_claim(content.decode("utf-8", errors="replace")[:300])


def _phone(path: Path) -> None:
    """A phone's file for a store that has none of its trials: each entry is refused by itself."""
    with errors_in(path):
        take_unsent(_store(str(path.with_name("store.sqlite"))), read_unsent(path), "somebody")


@functools.cache
def _store(url: str) -> Store:
    return Store(url)


READERS: dict[str, tuple[str, Callable[[Path, bytes], None]]] = {
    "case": ("case.toml", _case),
    "shelf": ("films.toml", _of_settings(read_shelf)),
    "watch settings": ("watch.toml", _of_settings(read_settings)),
    "release": ("release.toml", _of_settings(read_release)),
    "trial file": ("trial.toml", _of_settings(read_trial)),
    "trace": ("trace.csv", _on_file(read_trace)),
    "tensile test": ("test.csv", _on_file(_tensile)),
    "sites": ("sites.csv", _of_settings(read_sites)),
    "cycles": ("cycles.csv", _of_settings(_records)),
    "pilot": ("pilot.csv", _of_settings(pilot_spread)),
    "slips": ("slips.csv", _of_settings(read_rows)),
    "recording": ("trip.csv", _of_settings(read_recording)),
    "sheet": ("loads.csv", _on_file(read_written)),
    "workbook": ("book.xlsx", _on_file(read_written)),
    "Parquet": ("cycles.parquet", _of_settings(_records)),
    "old workbook": ("book.xls", _on_file(read_written)),
    "OpenDocument": ("book.ods", _on_file(read_written)),
    "phone's file": ("unsent.json", _on_file(_phone)),
    "line": ("line.toml", _of_settings(read_line)),
    "loads": ("loads.csv", _of_settings(_loads)),
    "loads in Parquet": ("loads.parquet", _of_settings(_loads)),
    "claim": ("", _claim),
    "gauge study": ("gauge.csv", _on_file(lambda path: tables_in_file(str(path)))),
    "quantity": ("", _quantity),
    "money": ("", _money),
}  # fmt: skip


DEAR = ("old workbook", "OpenDocument", "Parquet", "loads in Parquet")
"""Read by a process of their own, which costs a tenth of a second or more: one turn in ten."""


def _in_turn(number: int, readers: tuple[str, ...]) -> str:
    reader, turn = readers[number % len(readers)], number // len(readers)
    cheap = [each for each in readers if each not in DEAR]
    return cheap[number % len(cheap)] if cheap and reader in DEAR and turn % 10 else reader


def sound_inputs(folder: Path) -> dict[str, list[bytes]]:
    """Inputs that every reader takes."""
    import polars as pl
    import xlsxwriter

    from filled_sheets import filled_book, save

    demo = files("woold.demo").joinpath("files")
    cycles = "".join(f"2026-03-01 10:{n:02d}:00;m;{200 + n},5;{n % 3}\n" for n in range(40))
    frame = pl.DataFrame({"time": [f"2026-03-01 10:{n:02d}:00" for n in range(50)],
                          "machine": ["m"] * 50,
                          "film_mass_g": [200.0 + n for n in range(50)]})  # fmt: skip
    frame.write_parquet(folder / "sound.parquet")
    book = xlsxwriter.Workbook(str(folder / "sound.xlsx"))
    sheet = book.add_worksheet("Loads")
    for column, name in enumerate(("load", "treatment", "load type", "film mass [g]")):
        sheet.write(0, column, name)
    for row in range(1, 12):
        for column, value in enumerate((row, "baseline", "jars", 180 + row)):
            sheet.write(row, column, value)
    book.close()
    trace = "time [s];dancer [deg]\n" + "".join(f"{n / 50};{n % 7}\n" for n in range(200))
    write_line_loads(folder / "sound-loads.csv", 30)
    loads = (folder / "sound-loads.csv").read_bytes()
    polars_loads = pl.read_csv(folder / "sound-loads.csv", infer_schema_length=None)
    polars_loads.write_parquet(folder / "sound-loads.parquet")
    texts = ("63 gauge", "1,800 lb", "5 ft 3 1/2 in", "-50 mm", "23 \u00b0C", "12 1/min",
             "1.200,5 mm", "260 %", "0.918 g/cm3", "1/2 in", "1 h 30 min")  # fmt: skip
    return {
        "case": [starter_text().encode(), demo.joinpath("today.toml").read_bytes()],
        "shelf": [demo.joinpath("films.toml").read_bytes()],
        "watch settings": [
            b'[film]\nprice = "2.2 USD/kg"\nmass_per_metre = "3.6 g/m"\n[[promise]]\n'
            b'baseline_film_per_load = "340 g"\nsaving = "5 %"\nsaving_low = "3 %"\n'
            b"[charts]\nsetup_loads = 300\newma_weight = 0.1\n"
        ],
        "release": [release_starter_text().encode()],
        "trial file": [
            b'key = "line-1"\n[aim]\nsaving = "5 %"\nmargin = "10 %"\n[looks]\n'
            b'at = ["50 %", "100 %"]\n[zones]\nlimits = ["0.5 m", "1 m"]\n[[load_types]]\n'
            b'name = "jars"\nloads_per_year = "4000"\n'
        ],
        "gauge study": [
            b"gauge,part,person,repeat,reading\n"
            + b"".join(
                b"scale [g],%d,%s,%d,%d.5\n" % (part, who, turn, 100 + part)
                for part in range(1, 4) for who in (b"A", b"B") for turn in (1, 2)
            )
        ],
        "trace": [trace.encode(), trace.replace(";", ",").encode("utf-16")],
        "tensile test": [demo.joinpath("tensile-test.csv").read_bytes()],
        "sites": [b"site,saving,standard_error\nA,5.1 %,1.2 %\nB,3.5 %,1 %\n"],
        "cycles": [f"time;machine;Film mass [g];breaks\n{cycles}".encode()],
        "pilot": [b"film mass [g];note\n312,5;a\n305,5;b\n320,1;c\n"],
        "slips": [b"acceleration,ramp [s],hold [s],height [mm],largest [mm]\n.4,.05,.4,9,2\n"],
        "recording": [
            b"time [s],acceleration [m/s^2]\n" + b"".join(b"%d,%d\n" % (n, n % 3) for n in range(9))
        ],
        "sheet": [b"load,treatment,load type,film mass [g]\n1,baseline,jars,180\n"],
        "workbook": [(folder / "sound.xlsx").read_bytes()],
        "Parquet": [(folder / "sound.parquet").read_bytes()],
        "old workbook": [save(filled_book(), folder / "filled.xls").read_bytes()],
        "OpenDocument": [save(filled_book(), folder / "filled.ods").read_bytes()],
        "phone's file": [
            b'{"schema": "entries-not-sent", "entries": [{"id": "entry-0001", "trial": "line-1",'
            b' "body": {"load": {"load": {"typed": "2"}, "film_mass": {"typed": "190", "unit":'
            b' "g"}}}, "typed_at": "2026-01-02T03:04:05Z", "photos": []}]}'
        ],
        "line": [line_starter_text().encode(), demo.joinpath("line.toml").read_bytes()],
        "loads": [loads, loads.replace(b",", b";")],
        "loads in Parquet": [(folder / "sound-loads.parquet").read_bytes()],
        "claim": [
            b"5 % on average, up to 15 %", b"at least 3 percent at every site (95 % confidence)",
            b"9 of 10 sites save more than 4 %",
        ],
        "quantity": [each.encode() for each in texts],
        "money": [b"2.2 USD/kg", b"1,50 EUR/kg", b"GBP 2 / lb"],
    }  # fmt: skip


@contextmanager
def _alarm(seconds: int) -> Iterator[None]:
    def late(_number: int, _frame: Any) -> None:
        raise TimeoutError

    before = signal.signal(signal.SIGALRM, late)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def fuzzed(count: int, seed: int, readers: tuple[str, ...] = tuple(READERS)) -> Outcome:
    """What comes of so many mutated inputs, the readers in turn.

    Args:
        count: inputs in all.
        seed: of the mutations.
        readers: names of the readers.
    """
    rng, outcome = random.Random(seed), Outcome()
    with tempfile.TemporaryDirectory(prefix="woold-fuzz-") as name:
        folder = Path(name)
        sound = sound_inputs(folder)
        for number in range(count):
            reader = _in_turn(number, readers)
            ending, run = READERS[reader]
            whole = rng.choice(sound[reader])
            is_book = whole[:2] == b"PK" and rng.random() < 0.8
            content = mutated_book(whole, rng) if is_book else mutated(whole, rng)
            outcome.tried[reader] += 1
            start = time.perf_counter()
            fault = _fault(run, folder / (ending or "none"), content, outcome, reader)
            took = time.perf_counter() - start
            if took > outcome.longest:
                outcome.longest, outcome.longest_of = took, f"{reader}, input {number}"
            if fault:
                outcome.faults.append(f"{reader}, input {number}: {fault}; {content[:200]!r}")
    if outcome.memory > MOST_MEMORY:
        outcome.faults.append(f"{outcome.memory:,} bytes of memory")
    return outcome


def _fault(
    run: Callable[[Path, bytes], None], path: Path, content: bytes, outcome: Outcome, reader: str
) -> str:
    """What is wrong with how an input was taken; "" where nothing is."""
    start = time.perf_counter()
    try:
        with _alarm(LONGEST):
            run(path, content)
    except WooldError as error:
        outcome.refused[reader] += 1
        for each in error.problems:
            parts = (each.field, each.given, each.allowed, each.todo)
            if not all(part.strip() for part in parts):
                return f"a refusal without its place, what was given, allowed or to do: {each!r}"
            if path.name != "none" and path.name not in each.place:
                return f"a refusal that does not name its file: {each!r}"
            if each.todo[-1] not in '.?)"' and not each.todo[-1].isalnum():
                return f"a refusal whose advice is no sentence: {each!r}"
    except TimeoutError:
        return f"over {LONGEST} s"
    except BaseException as error:
        if isinstance(error, KeyboardInterrupt):
            raise
        return "".join(traceback.format_exception(error)[-3:])
    took = time.perf_counter() - start
    return f"{took:.1f} s" if took > LONGEST else ""


def main() -> None:
    """Fuzz, print what came of it, and end with 1 where anything is wrong."""
    count, seed = (int(each) for each in (*sys.argv[1:3], "1")[:2])
    outcome = fuzzed(count, seed)
    for reader, tried in outcome.tried.items():
        print(f"{reader}: {tried} inputs, {outcome.refused[reader]} refused")
    print(f"longest: {outcome.longest:.2f} s ({outcome.longest_of})")
    print(f"{outcome.memory / 1e6:.0f} MB at most; faults: {len(outcome.faults)}")
    for fault in outcome.faults[:40]:
        print(fault)
    sys.exit(1 if outcome.faults else 0)


if __name__ == "__main__":
    main()

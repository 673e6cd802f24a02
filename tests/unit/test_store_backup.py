"""Copies of a store: proven, of every kind of database, and the way back."""

from __future__ import annotations

import datetime
import json
import sqlite3
import threading
from pathlib import Path
from typing import Any

import argon2
import pytest
from tests.unit.test_store import any_store, any_url, server

from small_pictures import small_picture
from woold.errors import InputError, StoreError
from woold.store import Cell, Store, Typed
from woold.store.accounts import Accounts
from woold.store.backup import back_up, check_store, restore_store
from woold.store.nightly import Nightly
from woold.store.picture import clean_picture
from woold.store.saved_cases import SavedCases

__all__ = ["any_store", "any_url", "server"]

UTC = datetime.UTC


def fill(store: Store) -> str:
    """A little of everything; the name of the picture."""
    with store.writing("AB") as batch:
        batch.from_file("t", "0" * 64, "a.csv")
        batch.typed = Typed("CD", "2026-01-02T03:04:05.000+00:00", 1.5)
        batch.add("t", "load", "1", {"film_mass": Cell("312", "g", 0.312), "notes": Cell("ä'\n")})
        name = batch.add_photo(clean_picture(small_picture(), "a"), "a")
        batch.add("t", "photo", f"1|{name}", {"load": Cell("1"), "photo": Cell(name)})
    with store.writing("AB") as batch:
        batch.correct(batch.current("t", "load")[0], {"film_mass": Cell("300", "g", 0.3)}, "why")
    SavedCases(store.engine).save("case-0001", 0, "title", "title = 'x'", "AB")
    quick = argon2.PasswordHasher(time_cost=1, memory_cost=64, parallelism=1)
    Accounts(store.engine, quick).set("anna", "manage", "some words in a row", "AB")
    return name


def test_a_copy_is_restored_whole(any_store: Store, tmp_path: Path) -> None:
    name = fill(any_store)
    held = back_up(any_store.engine, tmp_path / "copy.sqlite")
    assert held.rows["record"] == 3
    again = str(tmp_path / "again.sqlite")
    assert restore_store(tmp_path / "copy.sqlite", again) == held
    restored = Store(again)
    assert list(restored.history()) == list(any_store.history())
    assert restored.photo(name) == any_store.photo(name)
    accounts = Accounts(restored.engine)
    assert accounts.sign_in("anna", "some words in a row") is not None
    # It goes on where the other left off.
    with restored.writing("AB") as batch:
        batch.add("t", "load", "2", {})
    assert restored.latest() == 4
    restored.close()
    with pytest.raises(InputError, match="holds something"):
        restore_store(tmp_path / "copy.sqlite", again)
    with pytest.raises(InputError, match="exists"):
        back_up(any_store.engine, tmp_path / "copy.sqlite")


def test_a_copy_of_one_kind_becomes_a_store_of_the_other(any_url: str, tmp_path: Path) -> None:
    first = Store(str(tmp_path / "first.sqlite"))
    fill(first)
    held = back_up(first.engine, tmp_path / "copy.sqlite")
    assert restore_store(tmp_path / "copy.sqlite", any_url) == held
    moved = Store(any_url)
    with moved.writing("AB") as batch:
        batch.add("t", "load", "2", {})
    assert [each.key for each in moved.current("t", "load")] == ["1", "2"]
    assert check_store(moved.engine)[1] == []
    moved.close()
    first.close()


def test_a_copy_made_while_others_write_is_whole(tmp_path: Path) -> None:
    store = Store(str(tmp_path / "s"))
    fill(store)
    stop = threading.Event()

    def write() -> None:
        number = 0
        while not stop.is_set():
            number += 1
            with store.writing("EF") as batch:
                for part in range(2):
                    batch.add("t", "load", f"{number}-{part}", {"x": Cell("1")})

    writer = threading.Thread(target=write)
    writer.start()
    try:
        copies = [back_up(store.engine, tmp_path / f"{n}.sqlite") for n in range(3)]
    finally:
        stop.set()
        writer.join()
    for number, held in enumerate(copies):
        copy = Store(str(tmp_path / f"{number}.sqlite"))
        loads = {each.key for each in copy.current("t", "load")} - {"1"}
        # Each batch is there wholly or not at all.
        assert {key.replace("-0", "-1") for key in loads if key.endswith("-0")} == {
            key for key in loads if key.endswith("-1")
        }
        assert check_store(copy.engine) == (held, [])
        copy.close()
    store.close()


def test_damage_is_found(tmp_path: Path) -> None:
    store = Store(str(tmp_path / "s"))
    name = fill(store)
    assert check_store(store.engine)[1] == []
    back_up(store.engine, tmp_path / "copy.sqlite")
    store.close()
    raw = sqlite3.connect(tmp_path / "copy.sqlite")
    raw.execute("DROP TRIGGER no_update_of_photo")
    raw.execute("UPDATE photo SET content = x'00'")
    raw.commit()
    raw.close()
    damaged = Store(str(tmp_path / "copy.sqlite"))
    (wrong,) = check_store(damaged.engine)[1]
    assert name in wrong
    with pytest.raises(StoreError, match=name):
        back_up(damaged.engine, tmp_path / "second.sqlite")
    damaged.close()
    assert not list(tmp_path.glob("*second*"))
    with pytest.raises(StoreError, match=name):
        restore_store(tmp_path / "copy.sqlite", str(tmp_path / "new"))
    (tmp_path / "half.sqlite").write_bytes((tmp_path / "copy.sqlite").read_bytes()[:20_000])
    with pytest.raises(StoreError):
        restore_store(tmp_path / "half.sqlite", str(tmp_path / "new2"))


def test_nobody_is_signed_in_in_a_copy(tmp_path: Path) -> None:
    store = Store(str(tmp_path / "s"))
    fill(store)
    assert Accounts(store.engine).sign_in("anna", "some words in a row")
    back_up(store.engine, tmp_path / "copy.sqlite")
    store.close()
    raw = sqlite3.connect(tmp_path / "copy.sqlite")
    assert raw.execute("SELECT count(*) FROM web_session").fetchone() == (0,)
    raw.close()


def test_a_copy_every_night_and_the_latest_are_kept(tmp_path: Path) -> None:
    store = Store(str(tmp_path / "s"))
    nightly = Nightly(store.engine, tmp_path / "copies", kept=2)
    noon = datetime.datetime(2026, 3, 1, 12, tzinfo=UTC).astimezone()
    noon = noon.replace(hour=12)
    assert nightly.is_due(noon)
    first = nightly.make(noon)
    assert not nightly.is_due(noon + datetime.timedelta(hours=13))
    assert nightly.is_due(noon + datetime.timedelta(hours=14, minutes=1))
    day = datetime.timedelta(days=1)
    later = [nightly.make(noon + number * day) for number in (1, 2)]
    assert nightly.copies() == later
    assert not first.exists()
    assert nightly.last() == (noon + 2 * day).astimezone(UTC)
    store.close()


def test_the_commands(tmp_path: Path, woold: Any) -> None:
    store = Store(str(tmp_path / "s"))
    fill(store)
    store.close()
    done = woold("store", "check", "--store", str(tmp_path / "s"))
    assert (done.returncode, "The store is sound." in done.stdout) == (0, True)
    copy = str(tmp_path / "copy.sqlite")
    done = woold("store", "backup", copy, "--store", str(tmp_path / "s"), "--json")
    assert json.loads(done.stdout)["rows"]["record"] == 3
    assert woold("store", "backup", copy, "--store", str(tmp_path / "s")).returncode == 2
    done = woold("store", "restore", copy, "--store", str(tmp_path / "new"))
    assert "proven" in done.stdout
    assert woold("store", "restore", copy, "--store", str(tmp_path / "new")).returncode == 2
    assert woold("store", "restore", "none", "--store", str(tmp_path / "new3")).returncode == 2
    (tmp_path / "bad").write_text("no database at all, but some text of a length")
    assert woold("store", "check", "--store", str(tmp_path / "bad")).returncode == 2

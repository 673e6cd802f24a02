"""The front end: its house rules, its own unit tests, its build."""

from __future__ import annotations

import importlib.util
import json
import shutil
import subprocess
import sys
from pathlib import Path
from types import ModuleType, SimpleNamespace

import polib
import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).parents[2]
FRONT = ROOT / "frontend"
LONGEST_FILE = 400


def _npm(*words: str) -> None:
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("Node came with the build and has gone with it")
    done = subprocess.run([npm, *words], cwd=FRONT, text=True, capture_output=True, check=False)
    assert done.returncode == 0, f"{done.stdout[-4000:]}{done.stderr[-4000:]}"


def test_sources_are_linted_and_formatted() -> None:
    _npm("run", "--silent", "lint")


def test_sources_agree_with_the_interface_in_every_key() -> None:
    _npm("run", "--silent", "types")
    _npm("run", "--silent", "check")


def test_pure_parts() -> None:
    _npm("test", "--silent")


def test_a_renamed_key_fails_the_type_check(tmp_path: Path) -> None:
    """The types are those of the description: another description, and the pages do not fit."""
    described = (FRONT / "openapi.json").read_text(encoding="utf-8")
    assert '"film_mass_kg"' in described
    renamed = tmp_path / "openapi.json"
    renamed.write_text(described.replace('"film_mass_kg"', '"film_weight_kg"'), encoding="utf-8")
    for name in ("src", "tests", "tsconfig.json", "package.json", "words.d.mts"):
        kept = FRONT / name
        (shutil.copytree if kept.is_dir() else shutil.copy)(kept, tmp_path / name)
    (tmp_path / "node_modules").symlink_to(FRONT / "node_modules")
    node = shutil.which("node")
    if node is None:
        pytest.skip("Node came with the build and has gone with it")
    types = json.loads((FRONT / "package.json").read_text())["scripts"]["types"].split()[1:]
    modules = tmp_path / "node_modules"
    made = subprocess.run(
        [node, str(modules / "openapi-typescript/bin/cli.js"), *types], cwd=tmp_path, check=False
    )
    assert made.returncode == 0
    checked = subprocess.run(
        [node, str(modules / "typescript/bin/tsc"), "--noEmit"],
        cwd=tmp_path,
        text=True,
        capture_output=True,
        check=False,
    )
    assert "film_mass_kg" in checked.stdout
    assert checked.returncode != 0


def test_files_are_short() -> None:
    for path in sorted((FRONT / "src").rglob("*.ts")):
        if "generated" not in path.parts:
            lines = len(path.read_text(encoding="utf-8").splitlines())
            assert lines <= LONGEST_FILE, f"{path.relative_to(ROOT)}: {lines} lines"


def test_the_package_carries_no_source_maps() -> None:
    static = ROOT / "src/woold/web/static"
    names = [path.name for path in static.rglob("*")]
    assert "bench.js" in names
    assert not [name for name in names if name.endswith(".map")]
    for script in static.rglob("*.js"):
        assert "sourceMappingURL" not in script.read_text(encoding="utf-8")


def test_what_scripts_say_stands_in_the_catalogue() -> None:
    """What the build lists for the pages and what translators are given agree."""
    listed = json.loads((ROOT / "src/woold/web/static/words.json").read_text(encoding="utf-8"))
    catalogue = polib.pofile(str(ROOT / "src/woold/words/woold.pot"))
    assert sorted(set(listed) - {entry.msgid for entry in catalogue}) == []


@pytest.fixture
def hook(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The build's hook, without the builder that calls it."""
    builder = ModuleType("hatchling.builders.hooks.plugin.interface")
    builder.BuildHookInterface = dict  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, builder.__name__, builder)
    spec = importlib.util.spec_from_file_location("hatch_build", ROOT / "hatch_build.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize(
    ("version", "fits"),
    [
        ("20.18.3", False),
        ("20.19.0", True),
        ("22.20.0", True),
        ("24.11.1", True),
        ("25.0.0", False),
    ],
)
def test_build_and_engines_ask_for_one_node(
    hook: ModuleType, monkeypatch: pytest.MonkeyPatch, version: str, fits: bool
) -> None:
    """A Node that npm would refuse is not used by the build, nor asked of PyPI."""
    said = subprocess.CompletedProcess([], 0, stdout=f"v{version}\n")
    monkeypatch.setattr(hook.shutil, "which", lambda name: name)
    monkeypatch.setattr(hook.subprocess, "run", lambda *_, **__: said)
    asked = hook.FrontEnd.dependencies(SimpleNamespace(front=FRONT))
    assert (asked == []) is fits
    monkeypatch.setattr(hook.shutil, "which", lambda _: None)
    (requirement,) = hook.FrontEnd.dependencies(SimpleNamespace(front=FRONT))
    assert Requirement(requirement).specifier.contains(version) is fits

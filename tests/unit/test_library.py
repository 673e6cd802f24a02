"""The library's names: each stands in docs/library.md with an example, which runs here."""

from __future__ import annotations

import ast
import doctest
import importlib
import json
import re
from pathlib import Path

import pytest

import woold
from woold.demo.scenario import STEPS, write_scenario
from woold.rows.told import Told

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs/library.md").read_text(encoding="utf-8")
SECTIONS = dict(re.findall(r"^### `(\w+)`\n(.*?)(?=^##|\Z)", PAGE, flags=re.MULTILINE | re.DOTALL))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The scenario's files, and a store with its trial."""
    from pseudo_words import woold as command

    folder = tmp_path_factory.mktemp("library")
    write_scenario(folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        for step in STEPS:
            if step.arguments[:2] in (("trial", "plan"), ("trial", "import")):
                status, output = command(*step.arguments)
                assert status == step.exit_status, output
    return folder


def test_page_shows_every_public_name() -> None:
    assert sorted(SECTIONS) == sorted(woold.__all__)


@pytest.mark.xdist_group("library")
@pytest.mark.parametrize("name", sorted(SECTIONS))
def test_example_runs(name: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    text = "\n".join(re.findall(r"```python\n(.*?)```", SECTIONS[name], flags=re.DOTALL))
    test = doctest.DocTestParser().get_doctest(text, {"woold": woold}, name, "docs/library.md", 0)
    assert test.examples
    told: list[str] = []
    result = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS).run(test, out=told.append)
    assert result.failed == 0, "".join(told)


def test_editors_see_what_is_loaded() -> None:
    """Names for type checkers are those that load, from the same modules."""
    source = ast.parse((ROOT / "src/woold/__init__.py").read_text(encoding="utf-8"))
    (block,) = (each for each in source.body if isinstance(each, ast.If))
    seen = {
        alias.name: each.module
        for each in block.body
        if isinstance(each, ast.ImportFrom)
        for alias in each.names
    }
    loaded = {name: home for home, names in woold._HOMES.items() for name in names}
    assert seen == loaded
    assert sorted(loaded) == sorted(woold.__all__)
    assert all(getattr(woold, name) is not None for name in loaded)
    assert set(woold.__all__) <= set(dir(woold))


def test_unknown_name_is_refused() -> None:
    with pytest.raises(AttributeError, match="no attribute 'predikt'"):
        _ = woold.predikt


def _kinds_of_results(kind: type[Told]) -> list[type[Told]]:
    return [each for one in kind.__subclasses__() for each in (one, *_kinds_of_results(one))]


def test_every_result_can_be_told() -> None:
    for home in woold._HOMES:
        importlib.import_module(home)
    importlib.import_module("woold.trial.analysis")
    told = [each for each in _kinds_of_results(Told) if each.told_as]
    assert len(told) > 10
    for each in told:
        module, _, function = each.told_by.partition(":")
        assert callable(getattr(importlib.import_module(module), function)), each


def test_results_show_themselves(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    case = woold.read_case("today.toml")
    results: list[Told] = [
        woold.predict(case),
        woold.verdict_of(case),
        woold.carriage_report(case),
        woold.compare_carriages(case, woold.read_case("candidate.toml"), draws=200),
        woold.match_films(case, woold.read_shelf("films.toml")),
        woold.spring_table(case),
        woold.simulate_dancer(case),
        woold.judge_trace("smooth-dancer.csv"),
        woold.screen_transport(case),
        woold.simulate_transport(case),
        woold.calibrate_transport(case, ["0.45, 0.05 s, 0.4 s, 250 mm, 12 mm"], draws=40),
        woold.fit_film("tensile-test.csv"),
        woold.design_program(case),
        woold.analyse_trial("invented-line-1", store="records.sqlite", resamples=1000),
        woold.pool_sites("sites.csv"),
        woold.watch_loads("cycles.csv", settings="watch.toml"),
    ]
    for result in results:
        line, html = repr(result), result._repr_html_()
        assert line.startswith(f"<{type(result).__name__}: ")
        assert 20 < len(line) < 400
        assert "\n" not in line
        assert "<table>" in html
        document = result.to_dict()
        assert document["schema"] == result.told_as
        assert document["woold"] == woold.__version__
        json.dumps(document, allow_nan=False, default=str)


def test_notebook_shows_no_markup_of_users(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    case = woold.read_case("today.toml").change({"title": "<script>alert(1)</script>"})
    html = woold.predict(case)._repr_html_()
    assert "<script" not in html
    assert "&lt;script" in html
    assert "Take care" in html


def test_sweep_tells_what_cannot_be(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    case = woold.read_case("today.toml")
    frame = woold.sweep(case, {"program.overlap": ["55 %", "99 %"]})
    assert frame["refused"].is_null().to_list() == [True, False]
    assert frame["film_mass_kg"].is_null().to_list() == [False, True]
    with pytest.raises(woold.WooldError, match="a list of values"):
        woold.sweep(case, {"film.thickness": "47 gauge"})
    with pytest.raises(woold.WooldError, match="at most"):
        woold.sweep(case, {"program.bottom_wraps": range(1_000), "program.top_wraps": range(1_000)})

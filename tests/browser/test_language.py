"""Pages in a made-up language, scripts and all: no English word of the program is left on them."""

from __future__ import annotations

import getpass
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from importlib.resources import files

import pytest
from playwright.sync_api import Page, expect
from tests.browser.test_trial_form import ask, trial_files
from tests.browser.test_trial_pages import wrap_every_load

import pseudo_words
from woold.trial.starter import starter_text

FRESH = "[data-state='fresh']"

READ = """() => {
  const said = ["aria-label", "aria-valuetext", "alt", "title", "aria-roledescription"];
  const texts = [document.title];
  const walk = (node) => {
    if (node instanceof Text) texts.push(node.data);
    if (!(node instanceof Element)) return;
    if (node.matches("script, style, code, noscript, textarea")) return;
    // Names of fields, to go to.
    if (node.matches("button.link")) return;
    for (const name of said) texts.push(node.getAttribute(name) ?? "");
    for (const child of node.childNodes) walk(child);
  };
  walk(document.body);
  return texts;
}"""


@pytest.fixture(scope="module")
def spoken(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a server that knows the made-up language."""
    folder = tmp_path_factory.mktemp("spoken")
    pseudo_words.write_pseudo_language(folder)
    env = os.environ | {"WOOLD_WORDS": str(folder)}
    command = [sys.executable, "-m", "woold", "serve", "--port", "0"]
    command += ["--store", str(folder / "woold.db")]
    with subprocess.Popen(command, env=env, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        found = re.search(r"http://\S+", server.stdout.readline())
        assert found
        yield found[0].rstrip("/")
        server.terminate()
        server.wait(10)


def _open(page: Page, address: str, path: str) -> None:
    page.goto(f"{address}{path}?language={pseudo_words.TAG}")
    expect(page.locator("html")).to_have_attribute("lang", pseudo_words.TAG)


def _left(page: Page, *typed: str) -> list[str]:
    theirs = pseudo_words.Texts(set(typed))
    for name in ("today.toml", "candidate.toml", "trial.toml"):
        text = files("woold.demo").joinpath("files", name).read_text(encoding="utf-8")
        theirs.add(tomllib.loads(text))
    theirs.add(tomllib.loads(starter_text()))
    # Who typed the loads, and the field that a finding names.
    theirs.phrases.update((getpass.getuser(), "treatment"))
    left = {each: pseudo_words.english_left(each, theirs) for each in page.evaluate(READ)}
    return [f"{', '.join(words)}: {text}" for text, words in left.items() if words]


@pytest.mark.parametrize(
    ("path", "ready"),
    [
        ("/", f"body{FRESH}"),
        ("/carriage", f"#comparison{FRESH}"),
        ("/dancer", f"#cycle-panel{FRESH}"),
        ("/trials", "#none"),
        ("/people", "#changes"),
        ("/trial-plan", "#plan .headline"),
        ("/sites", "#estimator option"),
        ("/watch", "#watch-fields .group"),
    ],
)
def test_no_english_is_left_on_a_page(watched: Page, spoken: str, path: str, ready: str) -> None:
    _open(watched, spoken, path)
    expect(watched.locator(ready).first).to_be_attached(timeout=60_000)
    watched.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    assert _left(watched) == []


def test_no_english_is_left_in_a_search(watched: Page, spoken: str) -> None:
    _open(watched, spoken, "/design")
    watched.locator("#run").click()
    expect(watched.locator(f"#design-panel{FRESH}")).to_be_attached(timeout=90_000)
    watched.locator(".pick").first.click()
    expect(watched.locator("#front table")).to_be_visible()
    assert _left(watched) == []


@pytest.mark.parametrize("part", ["", "/form"])
def test_no_english_is_left_on_a_trial_that_runs(watched: Page, spoken: str, part: str) -> None:
    key = f"spoken-{part.strip('/') or 'shown'}"
    ask(f"{spoken}/api/trials", trial_files(key))
    wrap_every_load(f"{spoken}/api/trials/{key}")
    _open(watched, spoken, f"/trials/{key}{part}")
    ready = "#entry" if part else "#comparison .headline"
    expect(watched.locator(ready).first).to_be_attached(timeout=60_000)
    watched.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    assert _left(watched, key) == []


def test_language_asked_for_once_is_kept(watched: Page, spoken: str) -> None:
    watched.goto(f"{spoken}/trials")
    expect(watched.locator("h1")).to_have_text("Trials")
    _open(watched, spoken, "/trials")
    watched.goto(f"{spoken}/trials")
    expect(watched.locator("h1")).to_have_text(pseudo_words.pseudo("Trials"))


def test_a_problem_is_told_in_the_readers_language(watched: Page, spoken: str) -> None:
    _open(watched, spoken, "/")
    expect(watched.locator(f"body{FRESH}")).to_be_attached(timeout=60_000)
    field = watched.locator("[data-field='load.height'] input").first
    field.fill("3 parsnips")
    error = watched.locator("[data-field='load.height'] .error")
    expect(error).to_contain_text("parsnips")
    left = pseudo_words.english_left(
        error.inner_text(), pseudo_words.Texts({"3 parsnips", "parsnips"})
    )
    assert left == []

"""The dancer's commands as a user meets them."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from woold.cli.main import run
from woold.demo.scenario import write_scenario


class Woold:
    """Runs `woold dancer` in this process: the compiler and its libraries load but once."""

    def __init__(self, patch: pytest.MonkeyPatch, captured: pytest.CaptureFixture[str]) -> None:
        self.patch, self.captured = patch, captured

    def __call__(self, *words: str, cwd: Path) -> SimpleNamespace:
        self.patch.chdir(cwd)
        self.patch.setenv("COLUMNS", "80")
        self.patch.setattr(sys, "argv", ["woold", "dancer", *words])
        with pytest.raises(SystemExit) as ended:
            run()
        out, err = self.captured.readouterr()
        return SimpleNamespace(returncode=ended.value.code or 0, stdout=out, stderr=err)


@pytest.fixture
def woold(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Woold:
    return Woold(monkeypatch, capsys)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("scenario")
    write_scenario(path)
    return path


def test_springs(folder: Path, woold: Woold) -> None:
    done = woold("springs", "today.toml", "--json", "--plot", "springs.svg", cwd=folder)
    assert (done.returncode, done.stderr) == (0, "")
    document = json.loads(done.stdout)
    first = document["choices"][0]
    assert first["fits"]
    assert first["tension_upper_n"] < document["force_to_load_n"] < first["tension_lower_n"]
    assert (folder / "springs.svg").exists()
    shown = woold("springs", "today.toml", cwd=folder).stdout
    assert "comes first" in shown
    assert "Take care" in shown
    assert max(len(line) for line in shown.splitlines()) <= 80


def test_simulate_agrees_with_the_other_integrator(folder: Path, woold: Woold) -> None:
    done = woold("simulate", "today.toml", "--check", "--json", "--plot", "cycle.png", cwd=folder)
    assert (done.returncode, done.stderr) == (0, "")
    document = json.loads(done.stdout)
    assert document["reference_angle_rad"] < 1e-4
    assert abs(document["film_residual"]) < 1e-6
    assert abs(document["energy_residual"]) < 1e-6
    assert document["steady"]["is_smooth"]
    # The pause stands in the cycle: film demand is zero for its 8 s.
    still = [each for each in document["samples"] if each["film_demand_m_per_s"] == 0.0]
    assert len(still) * document["duration_s"] / len(document["samples"]) > 7.5
    assert (folder / "cycle.png").read_bytes().startswith(b"\x89PNG")


def test_simulate_says_when_it_is_not_smooth(folder: Path, woold: Woold) -> None:
    done = woold(
        "simulate",
        "today.toml",
        "--speed",
        "40 rpm",
        "--must-be-smooth",
        "--as-typed",
        "machine.speed",
        cwd=folder,
    )
    assert done.returncode == 1
    assert "No steady state between the stops" in done.stdout
    assert "stops" in done.stdout
    assert max(len(line) for line in done.stdout.splitlines()) <= 80


def test_tune(folder: Path, woold: Woold) -> None:
    words = ("tune", "today.toml", "--fastest", "45 rpm", "--json", "--plot", "tune.svg")
    done = woold(*words, cwd=folder)
    assert (done.returncode, done.stderr) == (0, "")
    document = json.loads(done.stdout)
    assert 20 < document["highest_smooth_speed_rad_per_s"] * 60 / 6.2832 < 45
    assert document["best"][0]["fits"]
    assert "full grid" in document["method"]


def test_trace_that_bounces(folder: Path, woold: Woold) -> None:
    stops = ("--stops", "-30 deg", "30 deg")
    words = ("trace", "bouncing-dancer.csv", *stops, "--json", "--must-be-smooth")
    done = woold(*words, cwd=folder)
    assert (done.returncode, done.stderr) == (1, "")
    document = json.loads(done.stdout)
    assert document["verdict"] == "bounces"
    assert document["bounce"]["frequency_hz"] == pytest.approx(3.2, rel=0.02)
    assert document["bounce"]["damping"] == pytest.approx(0.04, abs=0.01)
    assert document["thresholds_origin"].startswith("common practice, no source")
    calm = woold(*words, "--limit", "bounce_share=0.9", "--limit", "corner_share=0", cwd=folder)
    assert calm.returncode == 0


def test_trace_that_does_not_decide_is_no_smooth_one(folder: Path, woold: Woold) -> None:
    """A wave of 8.5 Hz read 10 times a second looks like one of 1.5 Hz: |f_s - f|, by hand."""
    time = np.arange(0, 60, 0.1)
    swing = 5 * np.cos(0.8 * np.pi * time) + 2 * np.sin(2 * np.pi * 8.5 * time)
    swing += 0.05 * np.random.default_rng(1).normal(size=len(time))
    rows = [f"{at:.1f},{angle:.4f}" for at, angle in zip(time, swing, strict=True)]
    text = "\n".join(["Time (s),Dancer angle (°)", *rows])
    (folder / "slow-recorder.csv").write_text(text, encoding="utf-8")
    words = ("trace", "slow-recorder.csv", "--speed", "12 rpm")
    done = woold(*words, "--json", "--must-be-smooth", cwd=folder)
    assert (done.returncode, done.stderr) == (1, "")
    document = json.loads(done.stdout)
    assert document["verdict"] == "uncertain"
    assert document["may_be"] == ["bounces", "oscillates"]
    assert document["oscillation_hz"] is None
    assert document["frequency_readings_hz"][:2] == pytest.approx([1.5, 8.5], abs=0.02)
    shown = woold(*words, cwd=folder).stdout
    assert "It may be: bounces, oscillates." in shown
    assert "swings up to 5 Hz" in shown


def test_trace_with_fit(folder: Path, woold: Woold) -> None:
    words = ("trace", "smooth-dancer.csv", "--case", "today.toml", "--json", "--plot", "fit.svg")
    done = woold(*words, "--fit", "inertia,damping,film_stiffness", cwd=folder)
    assert (done.returncode, done.stderr) == (0, "")
    document = json.loads(done.stdout)
    assert document["verdict"] == "smooth"
    assert document["turn_is_certain"]
    # The demo's generator simulates with 0.09 kg m², 0.6 N m s and 620 N; pulses of 10 ms' grain.
    values = {each["name"]: each["value"] for each in document["fit"]["values"]}
    assert values["inertia"] == pytest.approx(0.09, rel=0.08)
    assert values["damping"] == pytest.approx(0.6, rel=0.2)
    assert values["film_stiffness"] == pytest.approx(620.0, rel=0.08)
    assert document["simulated"]["difference_rms_rad"] < 0.002
    assert (folder / "fit.svg").exists()


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("springs", "starter-without.toml"), "dancer.springs"),
        (("simulate", "today.toml", "--spring", "9"), "1 to 4"),
        (("simulate", "today.toml", "--hole", "-1 mm"), "--hole"),
        (("simulate", "today.toml", "--speed", "12 N"), "--speed"),
        (("tune", "today.toml", "--gains", "2 m/s/rad", "1 m/s/rad"), "--gains"),
        (("trace", "none.csv"), "No such file"),
        (("trace", "today.toml"), "column"),
        (("trace", "bouncing-dancer.csv", "--stops", "1 kg", "2 kg"), "--stops"),
        (("trace", "bouncing-dancer.csv", "--limit", "calm=1"), "--limit"),
        (("trace", "bouncing-dancer.csv", "--fit", "inertia"), "--case"),
        (("trace", "bouncing-dancer.csv", "--position-column", "height"), "--position-column"),
    ],
)
def test_bad_words_end_with_2_and_one_message(
    folder: Path, woold: Woold, words: tuple[str, ...], message: str
) -> None:
    text = (folder / "today.toml").read_text(encoding="utf-8")
    head, _, tail = text.partition("[dancer]")
    (folder / "starter-without.toml").write_text(
        head + tail[tail.index("[machine]") :], encoding="utf-8"
    )
    done = woold(*words, cwd=folder)
    assert done.returncode == 2
    assert done.stdout == ""
    assert message in done.stderr
    assert "Traceback" not in done.stderr

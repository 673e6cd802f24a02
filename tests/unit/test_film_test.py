"""Tensile tests from CSV files, and what their fit says."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from woold.carriages.film_test import fit_film
from woold.carriages.tensile_file import Specimen, TensileTest, read_tensile_test
from woold.case.file import case_from_table
from woold.errors import InputError
from woold.physics.film_curve import HawardCurve
from woold.prediction.predict import predict

FILM = HawardCurve(9e6, 2.4e6, 80.0, 150e6)
SPECIMEN = Specimen(0.0125, 20e-6, 0.05)


def curve(noise: float = 0.05e6, top: float = 5.2, seed: int = 3) -> TensileTest:
    stretches = np.concatenate((np.linspace(1.0, 1.05, 11), np.linspace(1.1, top, 60)))
    stresses = np.asarray(FILM.nominal_stress(stretches))
    return TensileTest(
        stretches, stresses + np.random.default_rng(seed).normal(0, noise, len(stresses)), 0
    )


def written(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "text",
    [
        "elongation [%],stress [MPa]\n0,0\n100,9\n200,11\n",
        "# a comment\n\nStress (MPa);Elongation (%)\n0;0\n9,0;100\n11,0;200,0\n",
        "time [s]\tstrain [-]\tstress [MPa]\n0\t0\t0\n1\t1,0\t9\n2\t2\t11\n",
        "elongation [%],force [N],note\n0,0,x\n100,2.25,\n200,2.75,\n",
        "\ufeffelongation [%],stress [psi]\n0,0\n100,1305.34\n200,1595.42\n",
        # As testing machines write them: what was tested above, units in a line of their own,
        # both extension and strain, both load and stress.
        "Method,D882\nSpecimen,3\n\nTime,Extension,Load,Tensile strain,Tensile stress\n"
        "(s),(mm),(N),(%),(MPa)\n0,0,0,0,0\n1,50,2.25,100,9\n2,100,2.75,200,11\n",
        "Grip separation (mm),Load (lbs)\n0,0\n50,0.50582\n100,0.61822\n",
        "Nominal strain / %;Engineering stress / N/mm2\n0;0\n100;9,0\n200;11\n",
        "Strain (mm/mm),Stress (N/mm²)\n0,0\n1,9\n2,11\n",
        "Strain %\tForce N\n0\t0\n100\t2,25\n200\t2,75\n",
        "Extension,Tensile strain (Extension),Load\n(mm),(%),(N)\n0,0,0\n50,100,2.25\n"
        "100,200,2.75\n",
        "Stroke_mm,Force_N\n0,0\n50,2.25\n100,2.75\n",
        "Elongation mm,Force N\n0,0\n50,2.25\n100,2.75\n",
        "Extension (%),Force (kN)\n0,0\n100,0.00225\n200,0.00275\n",
    ],
    ids=[
        "commas",
        "decimal commas",
        "tabs, shares",
        "forces",
        "psi",
        "all there is",
        "extension",
        "strokes",
        "shares by name",
        "units behind a space",
        "words in brackets, units below",
        "strokes below",
        "elongation as a length",
        "extension as a share",
    ],
)
def test_files_that_say_the_same(tmp_path: Path, text: str) -> None:
    test = read_tensile_test(written(tmp_path / "test.csv", text), SPECIMEN)
    np.testing.assert_allclose(test.stretches, [1.0, 2.0, 3.0])
    np.testing.assert_allclose(test.stresses, [0.0, 9e6, 11e6], rtol=1e-5)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_files_of_any_usual_encoding(tmp_path: Path, encoding: str) -> None:
    (tmp_path / "test.csv").write_bytes(
        "Strain (%),Stress (N/mm²)\n0,0\n100,9\n200,11\n".encode(encoding)
    )
    test = read_tensile_test(tmp_path / "test.csv")
    np.testing.assert_allclose(test.stresses, [0.0, 9e6, 11e6])


def test_break_and_wobbles_are_left_out(tmp_path: Path) -> None:
    text = "elongation [%],stress [MPa]\n-1,0\n0,0\n100,9\n99,9\n200,11\n201,3\n"
    test = read_tensile_test(written(tmp_path / "test.csv", text))
    np.testing.assert_allclose(test.stretches, [1.0, 2.0, 3.0])
    assert test.left_out == 3


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "fewer than two lines"),
        ("elongation [%],stress [MPa]\n", "fewer than two lines"),
        ("elongation,stress\n0,0\n", "names its columns with units"),
        ("elongation [%]\n0\n", "names its columns"),
        ("elongation [%],strain [%],stress [MPa]\n0,0,0\n", "two columns of elongation"),
        ("elongation [%],stress [MPa]\n0,0\n100,nine\n200,\n", "line 3"),
        ("elongation [%],stress [MPa]\n0,0\n100\n", "line 3"),
        ("elongation [%],stress [kg]\n0,0\n100,9\n", "That is a mass"),
        ("elongation [%],stress [MPa]\n0,0\n100,1e400\n", "finite"),
        ("elongation [%],force [N]\n0,0\n100,2\n", "--width"),
        ("extension [mm],stress [MPa]\n0,0\n100,2\n", "--gauge-length"),
        ("time [s],true stress [MPa]\n0,0\n1,2\n", "names its columns with units"),
    ],
)
def test_files_that_are_refused(tmp_path: Path, text: str, words: str) -> None:
    with pytest.raises(InputError) as raised:
        read_tensile_test(written(tmp_path / "test.csv", text))
    assert words in str(raised.value)


def test_yield_peak_higher_than_the_end_stays(tmp_path: Path) -> None:
    """The highest stress is the yield peak; what comes after it counts all the same."""
    elongations = np.concatenate((np.linspace(0, 8, 9), np.linspace(20, 250, 30)))
    stresses = np.asarray(FILM.nominal_stress(1 + elongations / 100)) / 1e6
    stresses[7:9] += 6.0
    lines = "\n".join(f"{x:.2f},{y:.3f}" for x, y in zip(elongations, stresses, strict=True))
    text = f"elongation [%],stress [MPa]\n{lines}\n252,1.0\n253,0.1\n"
    test = read_tensile_test(written(tmp_path / "test.csv", text))
    assert np.argmax(test.stresses) < 10
    assert test.stretches[-1] == pytest.approx(3.5)
    assert test.left_out == 2
    # Clean points: the film's own moduli, to the file's three decimals.
    values = {each.field: each.value for each in fit_film(test, "peak.csv").values}
    assert values["film.yield_stress"] == pytest.approx(9e6, rel=2e-3)
    assert values["film.hardening_modulus"] == pytest.approx(2.4e6, rel=5e-3)


@pytest.mark.parametrize("slope", [150e6, 40e6])
def test_nothing_is_printed_that_a_case_refuses(table: dict[str, Any], slope: float) -> None:
    """Slack grips make a film's first slope too soft for its yield stress."""
    film = HawardCurve(9e6, 2.4e6, 80.0, 150e6)
    true = np.concatenate((np.linspace(1.0, 1.06, 31), np.linspace(1.1, 5.2, 60)))
    shown = true + np.minimum(true - 1.0, 0.06) * (150e6 / slope - 1.0)
    noise = np.random.default_rng(5).normal(0, 0.03e6, len(true))
    report = fit_film(TensileTest(shown, film.nominal_stress(true) + noise, 0), "soft.csv")
    table["film"] |= tomllib.loads(report.to_toml())
    case = case_from_table(table)
    predict(case)
    for low_or_high in (0, 1):
        ends = {
            each.field: (each.low, each.high)[low_or_high]
            for each in report.values
            if each.field != "film.elastic_modulus"
        }
        predict(case.with_values(ends))
    codes = {each.code for each in report.findings}
    assert ("elastic_modulus_too_soft" in codes) == (slope < 100e6)


def test_no_file_and_no_text(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="No such file"):
        read_tensile_test(tmp_path / "none.csv")
    (tmp_path / "picture.csv").write_bytes(b"\xff\xd8\xff\xe0\x00")
    with pytest.raises(InputError, match="no text"):
        read_tensile_test(tmp_path / "picture.csv")


def test_fit_goes_into_a_case(table: dict[str, Any]) -> None:
    report = fit_film(curve(), 'my "test".csv')
    lines = tomllib.loads(report.to_toml())
    table["film"] |= lines
    case = case_from_table(table)
    for each in report.values:
        name = each.field.removeprefix("film.")
        assert getattr(case.film, name) == pytest.approx(each.value, rel=1e-3)
        assert case.range_of(each.field) == pytest.approx((each.low, each.high), rel=1e-3)
    assert not {"film.yield_stress"} & {each.field for each in case.placeholders()}
    assert report.findings == ()
    assert report.natural_draw_stretch == pytest.approx(FILM.natural_draw_stretch, abs=0.03)


def test_short_test_does_not_decide_the_extensibility() -> None:
    report = fit_film(curve(noise=0.3e6, top=2.6), "short.csv")
    assert "extensibility_not_decided" in {each.code for each in report.findings}


def test_curve_of_another_shape_is_offered_as_points(table: dict[str, Any]) -> None:
    stretches = np.linspace(1.5, 5.0, 60)
    wavy = 10e6 + 2e6 * np.sin(3 * stretches) + 1e6 * stretches
    report = fit_film(TensileTest(stretches, wavy, 0), "wavy.csv")
    assert {"curve_is_no_law"} <= {each.code for each in report.findings}
    assert report.values == ()
    table["film"] |= tomllib.loads(report.to_toml())
    case = case_from_table(table)
    assert case.film.test_elongations is not None
    np.testing.assert_allclose(case.film.test_elongations[-1], 5.0, rtol=0.05)


def test_too_few_points_on_the_drawing_part() -> None:
    with pytest.raises(InputError, match="points from 50 % on: 4"):
        fit_film(TensileTest(np.linspace(1.1, 2.0, 7), np.linspace(8e6, 9e6, 7), 0), "few.csv")


def test_falling_curve_is_refused() -> None:
    stretches = np.linspace(1.5, 4.0, 20)
    with pytest.raises(InputError, match="falls to its end"):
        fit_film(TensileTest(stretches, 10e6 / stretches**1.5, 0), "falling.csv")

"""Calibration: known truths come back, what cannot be told is said, the case file is kept."""

from __future__ import annotations

import datetime
import math
import tomllib
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from woold.case.file import case_from_table
from woold.case.model import Case
from woold.errors import InputError
from woold.physics.film import retained_force_fraction
from woold.prediction.predict import predict
from woold.rows.blocks import Table
from woold.rows.wording import Wording
from woold.trial.averages import treatment_averages
from woold.trial.calibrate import Calibration, _Fit, _parameter, calibrate
from woold.trial.calibration_rows import calibration_blocks
from woold.trial.setup import TrialSetup, trial_from_tables
from woold.trial.table import LoadTable, PullReading
from woold.trial.write_back import calibrated_case_text

TRUTH = {
    "film.reload_modulus": 300e6,
    "film.width_loss": 0.34,
    "film.force_loss_per_decade": 0.07,
}
AGES = (1800.0, 86_400.0)
HEIGHTS = (0.25, 0.75, 1.25)


def measured(
    case: Case,
    noise: float = 0.01,
    loads: int = 12,
    pull_scale: float = 0.9,
    thicker: float = 1.0,
    seed: int = 21,
    also: dict[str, float] | None = None,
) -> LoadTable:
    """A baseline of one load type whose film really is as TRUTH says, and so much thicker."""
    rng = np.random.default_rng(seed)
    truth = case.with_values({**TRUTH, "film.width_loss_prestretch": 3.6, **(also or {})})
    found = predict(truth)
    plate = [
        predict(truth.with_values({"hold.pull_height": height})).pull_plate_reading_n or np.nan
        for height in HEIGHTS
    ]
    k = truth.film.force_loss_per_decade
    pulls = [
        PullReading(
            load,
            height,
            "front",
            float(
                pull_scale
                * reading
                * retained_force_fraction(age, k)
                * (1 + noise * rng.standard_normal())
            ),
            age,
        )
        for load in range(loads)
        for age in AGES
        for height, reading in zip(HEIGHTS, plate, strict=True)
    ]

    def around(value: float) -> np.ndarray:
        return value * (1 + noise * rng.standard_normal(loads))

    return LoadTable(
        numbers=tuple(str(n) for n in range(loads)),
        treatment=np.zeros(loads, int),
        load_type=np.zeros(loads, int),
        block=np.zeros(loads, int),
        block_names=("",),
        machine=np.zeros(loads, int),
        roll=np.zeros(loads, int),
        shift=np.zeros(loads, int),
        roll_density=np.full(loads, np.nan),
        film_mass=around(thicker * found.film_mass_kg),
        cycle_time=np.full(loads, np.nan),
        turns=np.full(loads, found.turns),
        breaks=np.full(loads, np.nan),
        marks_stretch=around(found.stretch_on_load),
        film_width=around(found.film_width_on_load_m),
        dancer_force=np.full(loads, np.nan),
        zones=np.full((loads, 3), np.nan),
        pull_age=np.full(loads, AGES[0]),
        pulls=tuple(pulls),
        mix=np.array([1.0]),
        type_names=("jars",),
        zone_names=("bottom", "middle", "top"),
        notes={},
    )


def held_back(found: Calibration, others: LoadTable) -> dict[str, float]:
    """Share of single loads inside their ranges, by kind of reading: film mass, pulls and so on."""
    inside: dict[str, list[bool]] = {}
    for load in range(len(others.numbers)):
        alone = others.only(np.arange(len(others.numbers)) == load)
        read = {each.described: each for each in treatment_averages(alone, 0, [0])}
        for each in found.readings:
            value = math.exp(read[each.what].log_mean)
            inside.setdefault(each.kind, []).append(each.load_low <= value <= each.load_high)
    return {kind: float(np.mean(held)) for kind, held in inside.items()}


@pytest.fixture
def one_type(trial_tables: dict[str, Any], table: dict[str, Any]) -> TrialSetup:
    trial_tables["load_types"] = [{"name": "jars", "loads_per_year": 1, "baseline": "a.toml"}]
    return trial_from_tables(trial_tables, {"a.toml": table})


def by_name(found: Calibration) -> dict[str, Any]:
    return {each.field: each for each in found.parameters}


def test_truth_comes_back_within_its_interval(case: Case, one_type: TrialSetup) -> None:
    fields = ("film.reload_modulus", "film.width_loss", "film.force_loss_per_decade")
    found = calibrate(measured(case), one_type, "baseline", fields)
    for name, parameter in by_name(found).items():
        assert parameter.is_identified
        assert parameter.low <= TRUTH[name] <= parameter.high
        assert parameter.standard_error < 0.1 * parameter.after
    # The prediction did not fit before, and does after.
    mass = next(each for each in found.readings if each.what == "film mass")
    assert abs(mass.after / mass.measured - 1) < 3 * mass.relative_error
    assert abs(mass.after / mass.measured - 1) < abs(mass.before / mass.measured - 1)
    assert found.pull_scale == pytest.approx(0.9, rel=0.03)
    assert 0.3 < found.misfit < 2


def test_exact_readings_give_the_exact_truth(case: Case, one_type: TrialSetup) -> None:
    fields = ("film.reload_modulus", "film.width_loss", "film.force_loss_per_decade")
    found = calibrate(measured(case, noise=0.0), one_type, "baseline", fields)
    for name, parameter in by_name(found).items():
        assert parameter.after == pytest.approx(TRUTH[name], rel=3e-4)
    # Names of readings and load types stand to the left, and numbers below each other to the right.
    tables = [each for each in calibration_blocks(found, Wording()) if isinstance(each, Table)]
    assert [each.words for each in tables if "single load" in each.caption] == [(0, 1)]


def test_friction_where_nothing_slips_is_not_told(case: Case, one_type: TrialSetup) -> None:
    found = calibrate(measured(case), one_type, "baseline")
    friction = by_name(found)["carriage.friction"]
    assert not friction.is_identified
    assert friction.after == friction.before
    assert "hardly tell" in friction.finding or "No reading" in friction.finding


def test_friction_and_reload_modulus_cannot_be_told_apart_where_it_slips(
    table: dict[str, Any], trial_tables: dict[str, Any]
) -> None:
    """Both only change the stretch: of the two, the one that was measured keeps its value."""
    table["carriage"] |= {
        "contact_angle_slow": "130 deg",
        "contact_angle_fast": "130 deg",
        "friction": {"value": "0.55", "origin": "pull test"},
    }
    trial_tables["load_types"] = [{"name": "jars", "loads_per_year": 1, "baseline": "a.toml"}]
    setup = trial_from_tables(trial_tables, {"a.toml": table})
    case = case_from_table(table)
    assert predict(case).prestretch_delivered < case.carriage.prestretch
    found = by_name(calibrate(measured(case), setup, "baseline"))
    assert "Held at its given value" in found["carriage.friction"].finding
    modulus = found["film.reload_modulus"]
    assert modulus.is_identified
    assert modulus.low <= TRUTH["film.reload_modulus"] <= modulus.high
    assert "carriage.friction held" in modulus.finding


def test_readings_that_are_missing_leave_their_parameter_untold(
    case: Case, one_type: TrialSetup
) -> None:
    table = measured(case)
    bare = replace(table, film_width=np.full(12, np.nan), pulls=())
    found = by_name(calibrate(bare, one_type, "baseline"))
    assert found["film.reload_modulus"].is_identified
    assert not found["film.force_loss_per_decade"].is_identified
    assert not found["film.width_loss"].is_identified


def test_soft_load_is_told_by_pulls_over_different_layers(
    table: dict[str, Any], trial_tables: dict[str, Any]
) -> None:
    """Two layers half way up, more at the ends: what more of them hold less tells the load."""
    table["program"] |= {"bottom_wraps": 8, "top_wraps": 3}
    trial_tables["load_types"] = [{"name": "jars", "loads_per_year": 1, "baseline": "a.toml"}]
    setup = trial_from_tables(trial_tables, {"a.toml": table})
    case = case_from_table(table)
    soft = measured(case, also={"load.hoop_stiffness": 12_000.0})
    found = by_name(calibrate(soft, setup, "baseline", (*TRUTH, "load.hoop_stiffness")))
    stiffness = found["load.hoop_stiffness"]
    assert stiffness.is_identified
    assert stiffness.low <= 12_000.0 <= stiffness.high
    rigid = by_name(calibrate(measured(case), setup, "baseline", (*TRUTH, "load.hoop_stiffness")))
    assert not rigid["load.hoop_stiffness"].is_identified


def test_nothing_to_fit_to(case: Case, one_type: TrialSetup) -> None:
    table = measured(case)
    with pytest.raises(InputError, match="no case, or nothing measured"):
        calibrate(table, one_type, "candidate")
    with pytest.raises(InputError, match=r"--fit: film\.price"):
        calibrate(table, one_type, "baseline", ("film.price",))


def test_case_file_keeps_its_comments_and_says_where_values_come_from(
    case: Case, one_type: TrialSetup, table: dict[str, Any]
) -> None:
    import tomlkit

    text = tomlkit.dumps(table).replace("[film]", "[film]  # the film of line 1")
    found = calibrate(measured(case), one_type, "baseline")
    written = calibrated_case_text(text, found, datetime.date(2026, 1, 2))
    assert "# the film of line 1" in written
    tables = tomllib.loads(written)
    modulus = tables["film"]["reload_modulus"]
    assert modulus["origin"] == "fitted to trial line-1, baseline, 2026-01-02"
    calibrated = case_from_table(tables)
    inputs = {each.field: each for each in calibrated.inputs()}
    assert not inputs["film.reload_modulus"].origin.is_placeholder
    after = by_name(found)["film.reload_modulus"].after
    assert inputs["film.reload_modulus"].value == pytest.approx(after, rel=1e-4)
    assert inputs["film.reload_modulus"].origin.low < after  # type: ignore[operator]
    # Friction was not told, so it is left alone.
    assert tables["carriage"]["friction"] == 0.6


def test_nothing_told_is_nothing_written(case: Case, one_type: TrialSetup) -> None:
    found = calibrate(measured(case), one_type, "baseline", ("carriage.friction",))
    with pytest.raises(InputError, match="no parameter that the readings tell"):
        calibrated_case_text("", found, datetime.date(2026, 1, 2))


def test_ranges_of_single_loads_hold_loads_that_were_held_back(
    case: Case, one_type: TrialSetup
) -> None:
    """Fitted to 12 loads, held against 12 others, in 12 seeded trials: 90 % ranges of a load, per
    quantity. The benchmark takes 200 trials; tolerance: four standard errors of .9 in 144 loads,
    whose ranges are shared by 12 at a time.
    """
    held: dict[str, list[float]] = {}
    for seed in range(12):
        both = measured(case, noise=0.03, loads=24, seed=seed)
        fitted = calibrate(both.only(np.arange(24) < 12), one_type, "baseline")
        for what, share in held_back(fitted, both.only(np.arange(24) >= 12)).items():
            held.setdefault(what, []).append(share)
    assert len(held) == 5  # film mass, marks, width, pulls and the force kept
    for shares in held.values():
        assert np.mean(shares) == pytest.approx(0.9, abs=0.1)


def test_film_thicker_than_stated_shows_and_leaves_the_modulus_alone(
    case: Case, one_type: TrialSetup
) -> None:
    """6 % thicker: the modulus is told by the marks, and the film masses say what is off."""
    found = calibrate(measured(case, thicker=1.06), one_type, "baseline")
    modulus = by_name(found)["film.reload_modulus"]
    assert modulus.after == pytest.approx(TRUTH["film.reload_modulus"], rel=0.06)
    assert modulus.low <= TRUTH["film.reload_modulus"] <= modulus.high
    assert found.mass_error is not None
    assert found.mass_error.low <= 0.06 <= found.mass_error.high
    assert found.mass_error.is_off
    assert any("thicker than stated" in each for each in found.findings)


def test_rolls_of_known_mass_and_length_give_the_thickness(
    case: Case, one_type: TrialSetup
) -> None:
    """By hand: mass per metre over density and width."""
    film = case.film
    density = 1.06 * film.density * film.roll_width * film.thickness
    table = replace(measured(case, thicker=1.06), roll_density=np.full(12, density))
    found = calibrate(table, one_type, "baseline")
    assert found.mass_error is not None
    assert found.mass_error.thickness_from_rolls_m == pytest.approx(1.06 * film.thickness)
    assert not found.mass_error.is_off


def test_ranges_written_into_a_case_are_a_perts_ends(case: Case, one_type: TrialSetup) -> None:
    """Beta of 3 and 3 over a range of 2 a: variance (2 a)^2 9/(36 x 7) = a^2/7 (any handbook)."""
    modulus = by_name(calibrate(measured(case), one_type, "baseline"))["film.reload_modulus"]
    half = np.log(modulus.most / modulus.least) / 2
    sd = np.log(modulus.high / modulus.low) / 2 / 1.96
    assert half / np.sqrt(7) == pytest.approx(sd, rel=1e-6)


@pytest.mark.parametrize(("freedom", "quantile"), [(10, 2.228), (1, 12.706), (0, 12.706)])
def test_range_of_a_fitted_value_is_student_s(freedom: int, quantile: float) -> None:
    """95 % both sides, by tables of Student's t, of a standard error of 1 %.

    A PERT of the same spread has half a range of sqrt(7) = 2.6458 standard deviations where 95 % of
    a normal's lie within 1.96: 1.3499 times as much.
    """
    model = SimpleNamespace(
        fields=("film.reload_modulus",), low=np.array([-9.0]), high=np.array([99.0])
    )
    value = np.array([math.log(400e6)])
    one = np.ones((1, 1))
    fit = _Fit(value, (0,), np.array([0.01]), one, one * 1e-4, 1.0, freedom)
    found = _parameter(model, value, fit, ({}, {}), 0)  # type: ignore[arg-type]
    wide = 0.01 * quantile
    assert (found.low, found.high) == pytest.approx(
        (400e6 * math.exp(-wide), 400e6 * math.exp(wide)), rel=1e-5
    )
    assert (found.least, found.most) == pytest.approx(
        (400e6 * math.exp(-1.3499 * wide), 400e6 * math.exp(1.3499 * wide)), rel=1e-5
    )
    assert found.standard_error == pytest.approx(4e6)

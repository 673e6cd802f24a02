"""Film forces by the dancer in a trial: written down, asked about, learnt from."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from dancer_recordings import dancer_recording
from report_makers import demo_case
from trial_makers import demo_setup
from woold.case.model import Case
from woold.case.origin import Origin
from woold.dancer.trace_study import TraceAsk, study_recording
from woold.errors import InputError
from woold.learning.far_off import without_far_off
from woold.learning.forecast import forecast
from woold.learning.learned import Learned, learn
from woold.learning.log_readings import log_readings
from woold.learning.shared_unknowns import SharedUnknowns
from woold.learning.trial_files import store_of_files
from woold.learning.wrapped import Wrapped, wrapped_in_trial
from woold.store import Cell, Record
from woold.trial.averages import DANCER, MASS, PULL, Average
from woold.trial.calibrate import calibrate
from woold.trial.records import trial_records
from woold.trial.table import load_table
from woold.uncertainty.draws import values_at_scores

FORCE = "program.force_to_load"


def unknown_force(name: str = "today.toml", low: float = 30.0, high: float = 60.0) -> Case:
    """A case whose force to load, 45 N, is known within a range only."""
    case = demo_case(name)
    force = Origin("invented: guessed by the panel", True, low, high)
    return case.with_origins({**case.stated_origins(), FORCE: force})


def measured(force: float, error: float = 0.03) -> Average:
    """A mean of six recordings [N]."""
    return Average(DANCER, 0, 6, math.log(force), error)


@pytest.fixture
def sheet(tmp_path: Path) -> tuple[Path, Path]:
    demo_setup(tmp_path)
    return tmp_path / "trial.toml", tmp_path / "filled.csv"


def _average(sheet: tuple[Path, Path], *forces: str, unit: str = "N") -> Average:
    lines = [f"{at},baseline,jars,{each}" for at, each in enumerate(forces, 1)]
    head = f"load,treatment,load type,film force by the dancer [{unit}]"
    sheet[1].write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
    with store_of_files(sheet) as store:
        (wrapped,) = wrapped_in_trial(trial_records(store, "invented-line-1"))
    (found,) = wrapped.averages
    return found


def test_a_mean_of_recordings_by_hand(sheet: tuple[Path, Path]) -> None:
    """10 and 10.5 lbf are 44.482 and 46.706 N: logarithms 3.79509 and 3.84388, mean 3.81949, their
    spread 0.04879/√2 = 0.03450, of the mean 0.02440. A row needs nothing else to be a load."""
    found = _average(sheet, "10", "10.5", unit="lbf")
    assert (found.what, found.values, found.unit) == (DANCER, 2, "N")
    assert found.log_mean == pytest.approx(3.81949, abs=2e-5)
    assert found.log_error == pytest.approx(0.02440, abs=2e-5)
    assert found.described == "film force by the dancer"


def test_a_force_in_another_unit_is_asked_about(sheet: tuple[Path, Path]) -> None:
    """The case says 45 N; 4.6 is 45.1 N in kgf, and a column of such is one question."""
    with pytest.raises(InputError, match="would fit"):
        _average(sheet, "4.6", "4.7", "4.5", "4.6")
    with pytest.raises(InputError, match="Leave the cell empty"):
        _average(sheet, "0")
    assert _average(sheet, "52", "51").values == 2


def test_a_gauge_study_of_the_dancer_widens_its_mean(sheet: tuple[Path, Path]) -> None:
    """Of three people one reads 4.5 N more: (0, 0, 4.5) has a standard deviation of 2.598 N, over a
    mean of 46.5 N 5.59 %."""
    sheet[1].write_text(
        "load,treatment,load type,film force by the dancer [N]\n1,baseline,jars,45\n"
        "2,baseline,jars,46\n",
        encoding="utf-8",
    )
    rows = [
        Record(
            id=f"gauge-{part}-{person}-{repeat}",
            trial="invented-line-1",
            kind="gauge",
            key=f"{part}/{person}/{repeat}",
            cells={
                "instrument": Cell("dancer [N]"),
                "part": Cell(f"load {part}"),
                "person": Cell(person),
                "repeat": Cell(str(repeat)),
                "reading": Cell(f"{force + off}", si=force + off),
            },
            by="AB",
            at="2026-01-05T08:00:00+00:00",
            number=part,
            void=False,
            source="",
            replaces=None,
            reason="",
        )
        for part, force in enumerate((35.0, 40.0, 45.0, 50.0, 55.0), 1)
        for person, off in (("AB", 0.0), ("CD", 0.0), ("EF", 4.5))
        for repeat in (1, 2)
    ]
    with store_of_files(sheet) as store:
        records = trial_records(store, "invented-line-1")
    (before,), (after,) = (
        wrapped_in_trial(each)[0].averages
        for each in (records, replace(records, gauges=tuple(rows)))
    )
    added = math.sqrt(after.log_error**2 - before.log_error**2)
    assert added == pytest.approx(0.0559, abs=2e-4)


def test_no_fit_takes_it_and_says_so(sheet: tuple[Path, Path]) -> None:
    sheet[1].write_text(
        "load,treatment,load type,film mass [g],film force by the dancer [N]\n"
        "1,baseline,jars,181,52\n2,baseline,jars,182,51\n3,baseline,jars,183,53\n",
        encoding="utf-8",
    )
    with store_of_files(sheet) as store:
        records = trial_records(store, "invented-line-1")
    found = calibrate(load_table(records), records.setup, "baseline")
    assert not any(each.kind == DANCER for each in found.readings)
    (told,) = [each for each in found.findings if "dancer" in each]
    assert told.startswith("jars: the dancer's recordings say 52 N (11.7 lbf) of film force, the")
    assert "the case 45 N (10.1 lbf)" in told


def test_ways_set_otherwise_have_forces_of_their_own() -> None:
    """45 N within 30 to 60 and 70 N within 60 to 80 on one machine are two unknowns."""
    one = unknown_force()
    other = unknown_force(low=60.0, high=80.0).with_values({FORCE: 70.0})
    wrapped = [
        Wrapped("a", name, "jars", case, (measured(50.0),))
        for name, case in (("baseline", one), ("candidate", other))
    ]
    unknowns = SharedUnknowns(wrapped)
    forces = [each.unknown for each in unknowns.all if each.unknown.name == FORCE]
    assert [(each.low, each.high) for each in forces] == [(30.0, 60.0), (60.0, 80.0)]
    alike = SharedUnknowns([wrapped[0], replace(wrapped[0], treatment="candidate")])
    assert sum(each.unknown.name == FORCE for each in alike.all) == 1
    assert SharedUnknowns([replace(wrapped[0], trial="b"), wrapped[0]]).count > alike.count


def test_a_force_far_beyond_the_case_is_not_learnt_from() -> None:
    """Twice what the case says, as from a wrong number of film lines, is told."""
    case = unknown_force()
    kept, findings = without_far_off([Wrapped("a", "baseline", "jars", case, (measured(90.0),))])
    assert not kept
    assert "film force by the dancer was measured 2 times" in findings[0].message
    kept, findings = without_far_off([Wrapped("a", "baseline", "jars", case, (measured(60.0),))])
    assert kept
    assert not findings


@pytest.fixture(scope="module")
def taught() -> Learned:
    """48 N by six recordings, where the panel says 45 N, 30 to 60 N."""
    pytest.importorskip("nutpie")
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("woold.learning.sampling.KEPT", 600)
        patched.setattr("woold.learning.sampling.TUNED", 300)
        # Spreads of site and way as they are guessed: what is worked by hand has them known.
        patched.setattr("woold.learning.density.SPREAD_OF_SPREADS", 1e-6)
        return learn([Wrapped("a", "baseline", "jars", unknown_force(), (measured(48.0),))])


@pytest.mark.xdist_group("taught_force")
def test_force_to_load_narrows_by_hand(taught: Learned) -> None:
    """Two normals multiplied, and beside it the sum over a grid.

    Before: PERT of 30, 45 and 60 N: mean 45, variance (45 - 30)(60 - 45)/7 = 32.14 N², 5.67 N.
    Measured: 48 N, off by √(6² + 2² + 3²) = 7 % (site, way, mean), 3.36 N: variance 11.29 N².
    Precisions 0.03111 and 0.08857 add to 0.11968: 2.89 N; (45·0.03111 + 48·0.08857)/0.11968 =
    47.22 N. A PERT has no tails and errors are of logarithms: half a newton, a twentieth.
    """
    assert taught.can_be_trusted, taught.diagnostics
    unknowns = taught.unknowns
    (place,) = [at for at, each in enumerate(unknowns.all) if each.unknown.name == FORCE]
    drawn = values_at_scores(taught.draws[:, place], unknowns.all[place].unknown)
    assert drawn.mean() == pytest.approx(47.22, abs=0.5)
    assert drawn.std() == pytest.approx(2.89, rel=0.05)
    # A PERT of a best guess amid its range is (x - 30)² (60 - x)².
    grid = np.linspace(30.0, 60.0, 6001)[1:-1]
    weight = ((grid - 30.0) * (60.0 - grid)) ** 2
    weight *= np.exp(-0.5 * (np.log(48.0 / grid) / 0.07) ** 2)
    weight /= weight.sum()
    middle = float(weight @ grid)
    # Five standard errors of a mean of some 1,500 independent draws.
    assert drawn.mean() == pytest.approx(middle, abs=0.4)
    assert drawn.std() == pytest.approx(math.sqrt(weight @ (grid - middle) ** 2), rel=0.08)
    (told,) = [each for each in taught.inputs if each.field == FORCE]
    assert told.is_told
    assert told.owner == "machine of trial a, set to 45 N (10.1 lbf)"


@pytest.mark.xdist_group("taught_force")
def test_pull_readings_narrow_with_it(taught: Learned) -> None:
    """By a half or so in force: what is predicted of a pull reading follows."""
    pull = (Average(PULL, 0, 8, 0.0, 0.03, height=0.75, age=600.0),)
    unknowns, count = taught.unknowns, 1000
    random = np.random.default_rng(4)
    before = unknowns.scores(random.standard_normal((count, unknowns.count)))

    def spread(scores: np.ndarray) -> float:
        values = {
            each.unknown.name: values_at_scores(scores[:count, at], each.unknown)
            for at, each in enumerate(unknowns.all)
        }
        return float(np.nanstd(log_readings(unknown_force(), pull, values, count)[:, 0]))

    assert spread(taught.draws) < 0.75 * spread(before)


@pytest.mark.xdist_group("taught_force")
def test_a_recording_is_named_to_be_made_where_the_force_is_open(taught: Learned) -> None:
    """Film on the load hangs on it; a force that the case knows needs none."""
    worth = {each.what: each.narrower for each in forecast(taught, unknown_force()).worth}
    assert worth[MASS] > worth[DANCER] >= 0.0
    known = forecast(taught, demo_case("today.toml"))
    assert DANCER not in {each.what for each in known.worth}


def test_from_a_recording_to_what_was_learnt(
    sheet: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Simulated dancers of one machine, each judged, written into a sheet, imported and learnt.

    Its spring is off, and its angle's zero; what is learnt holds the force that it really had.
    """
    pytest.importorskip("nutpie")
    monkeypatch.setattr("woold.learning.sampling.KEPT", 600)
    monkeypatch.setattr("woold.learning.sampling.TUNED", 300)
    case = demo_case("today.toml").with_values({"dancer.spring": 3, "dancer.hole": 0.11})
    for machine in (3, 5):
        found, truths = [], []
        for load in range(3):
            recorded, truth = dancer_recording(case, machine, load)
            told = study_recording(recorded, TraceAsk(turn_period=5.0), case)[0].film_force
            assert told is not None
            found.append(f"{told.film_force_n:.1f}")
            truths.append(truth)
        average = _average(sheet, *found)
        learned = learn([Wrapped("a", "baseline", "jars", unknown_force(), (average,))])
        assert learned.can_be_trusted, learned.diagnostics
        (force,) = [each for each in learned.inputs if each.field == FORCE]
        assert force.after.low < np.mean(truths) < force.after.high
        width = force.after.high - force.after.low
        assert width < 0.8 * (force.before.high - force.before.low)

"""Loads and films put to the test: transport over time, its calibration, a tensile test's curve."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from pathlib import Path

from woold.carriages.film_test import FilmFitReport
from woold.case.asked import asked_quantity
from woold.case.model import Case
from woold.transport.calibration import TransportCalibration
from woold.transport.simulation import TransportSimulation

__all__ = ["calibrate_transport", "fit_film", "simulate_transport"]


def simulate_transport(
    case: Case, *, recording: Path | str | None = None, as_typed: Collection[str] = ()
) -> TransportSimulation:
    """The wrapped load over time: slips of each tier, and the stack as it moves; no test.

    Args:
        case: a case with a transport.
        recording: accelerations of a trip as a text table, time [s] and acceleration [m/s^2];
            pulses at the levels of the case's rules if not given.
        as_typed: columns that were asked about and are right, "trip.csv acceleration".

    Raises:
        WooldError: no [transport], or values that cannot be.
    """
    from woold.prediction.predict import predict
    from woold.transport.measured import how_read, read_recording
    from woold.transport.screen import screen_transport
    from woold.transport.simulation import simulate_transport as simulate

    prediction = predict(case)
    base = None if recording is None else read_recording(recording, as_typed)
    simulation = simulate(case, prediction, screen_transport(case, prediction), base)
    return simulation if recording is None else replace(simulation, findings=how_read([recording]))


def calibrate_transport(
    case: Case,
    slips: Sequence[Path | str],
    *,
    draws: int = 900,
    as_typed: Collection[str] = (),
) -> TransportCalibration:
    """Ranges of film and friction that fit with the slips of a real test of the load.

    Args:
        case: a case with a transport; its film as it was when tested.
        slips: files of measured slips, or such rows typed:
            "0.45, 0.05 s, 0.4 s, 250 mm, 12 mm".
        draws: inputs that are tried.
        as_typed: cells that were asked about and are right, "slips.csv:2 height".

    Raises:
        WooldError: no [transport], readings that cannot be used, or no input that has a range.
    """
    from woold.prediction.predict import predict
    from woold.transport.calibration import calibrate_transport as calibrate
    from woold.transport.measured import given_rows, how_read

    rows = [row for each in slips for row in given_rows(str(each), as_typed)]
    found = calibrate(case, predict(case), rows, draws=draws)
    return replace(found, findings=(*how_read(slips), *found.findings))


def fit_film(
    path: Path | str,
    *,
    width: str | None = None,
    thickness: str | None = None,
    gauge_length: str | None = None,
    fit_from: str | None = None,
    as_typed: Collection[str] = (),
) -> FilmFitReport:
    """A film's curve from its tensile test along the machine direction (ASTM D882).

    Args:
        path: text table, elongation [%] and stress [MPa], or extension [mm] and force [N].
        width, thickness: of the specimen, for forces, "15 mm" and "63 gauge".
        gauge_length: between the grips, for extensions, "50 mm".
        fit_from: elongation from which the specimen drew evenly, "50 %".
        as_typed: what was asked about and is right, "specimen_width" or "fit_from".

    Raises:
        WooldError: a file that cannot be read, or too few points on the drawing part.
    """
    from woold.carriages.film_test import fit_film as fit
    from woold.carriages.tensile_file import Specimen, read_tensile_test
    from woold.physics.tensile_test import FIT_FROM

    def size(text: str | None, name: str, shown: str) -> float | None:
        return None if text is None else asked_quantity(name, text, shown, as_typed)

    specimen = Specimen(
        size(width, "specimen_width", "width"),
        size(thickness, "specimen_thickness", "thickness"),
        size(gauge_length, "gauge_length", "gauge_length"),
    )
    start = size(fit_from, "fit_from", "fit_from")
    test = read_tensile_test(Path(path), specimen)
    return fit(test, Path(path).name, FIT_FROM if start is None else start)

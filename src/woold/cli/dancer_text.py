"""Text of the dancer's studies."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from woold.cli.output import console, print_cautions, print_rows, print_table, table_units
from woold.dancer.results import (
    CycleStudy,
    SpringRow,
    SpringTable,
    SteadyState,
    TraceStudy,
    TuneStudy,
)
from woold.prediction.result import RestsOn
from woold.units import UnitSystem, show, show_range, significant

__all__ = ["print_cycle", "print_springs", "print_trace", "print_tuning"]


def print_springs(table: SpringTable, units: UnitSystem) -> None:
    """The ranked table of springs and holes."""
    out = console()
    narrow = table_units(out, units)
    out.print(Text(table.title or "A case without a title", style="bold"))
    out.print()
    asked = (
        f"{show(table.force_to_load_n, 'force', units)} on"
        f" {show(table.film_thickness_m, 'thickness', units)} film"
    )
    fitting = [row for row in table.choices if row.fits]
    if fitting:
        print_table(
            out,
            f"Springs that fit for {asked}, the best first",
            (
                "spring in hole",
                "tension over\nthe travel",
                "balances at\n(of travel)",
                "tension per\nfilm taken",
                "film that\nit serves",
            ),
            [
                (
                    f"{row.rank}. {_spring(row)}",
                    _tension_range(row, narrow),
                    f"{math.degrees(row.balance_angle_rad or 0.0):.1f}° ({row.travel_share:.0%})",
                    f"{significant(row.tension_per_film_n_per_m or 0.0)} N/m",
                    show_range(row.serves_thinnest_m, row.serves_thickest_m, "thickness", narrow),
                )
                for row in fitting
            ],
        )
        best = fitting[0]
        out.print(Text(f"{_spring(best)} comes first: {best.reason}."))
        out.print(
            Text(
                "A low change of tension per film taken passes the corners evenly; the film that a"
                " spring serves is at the stress of this film under the force asked for."
            )
        )
        out.print()
    else:
        out.print(Text(f"No spring fits in any hole for {asked}: try other rates or holes."))
        out.print()
    others = [row for row in table.choices if not row.fits]
    if others:
        out.print(Text("Those that do not fit", style="bold"))
        for row in others:
            out.print(Padding(Text(f"{row.rank}. {_spring(row)}: {row.reason}"), (0, 0, 0, 2)))
        out.print()
    _print_placeholders(out, table.rests_on, units)
    print_cautions(out, table.cautions)


def _spring(row: SpringRow) -> str:
    rate = show(row.rate_n_per_m, "stiffness", "si")
    return f"{rate} in {show(row.hole_m, 'small_length', 'si')}"


def _tension_range(row: SpringRow, units: UnitSystem) -> str:
    low, high = sorted((row.tension_lower_n, row.tension_upper_n))
    return show_range(low, high, "force", units)


def print_cycle(study: CycleStudy, units: UnitSystem) -> None:
    """One simulated cycle."""
    out = console()
    out.print(Text(study.title or "A case without a title", style="bold"))
    out.print()
    print_rows(out, "The dancer", _dancer_rows(study, units))
    print_rows(out, "Over the cycle", _cycle_rows(study, units))
    print_rows(out, "At the steady speed", _steady_rows(study.steady, units))
    if study.orders:
        print_table(
            out,
            "What comes how often in a turn (small motions)",
            ("times a turn", "frequency", "swing", "tension", "of bounce", "amplified"),
            [
                (
                    f"{each.order}" + (" resonant" if each.resonant else ""),
                    show(each.frequency_hz, "frequency", units),
                    f"{math.degrees(each.swing_rad):.2f}°",
                    f"{each.tension_n:.2f} N",
                    f"{each.frequency_ratio:.2f}",
                    f"{each.amplification:.2f}",
                )
                for each in study.orders
            ],
        )
    _print_notes(out, "Findings", study.findings)
    _print_placeholders(out, study.rests_on, units)
    print_cautions(out, study.cautions)


def _dancer_rows(study: CycleStudy, units: UnitSystem) -> Iterator[tuple[str, str]]:
    hole = show(study.hole_m, "small_length", units)
    yield "spring and hole", f"spring {study.spring} in the hole at {hole}, {study.chosen}"
    yield "turning speed", show(study.turning_speed_rad_per_s, "turning_speed", units)
    if study.bounce_frequency_hz is not None and study.bounce_damping is not None:
        frequency = show(study.bounce_frequency_hz, "frequency", units)
        yield "bounce", f"{frequency}, damping ratio {study.bounce_damping:.3f}"
    if study.undriven_frequency_hz is not None:
        still = show(study.undriven_frequency_hz, "frequency", units)
        yield "with drive and load at rest", still
    for mode in study.modes:
        if mode.oscillates and mode.frequency_hz != study.bounce_frequency_hz:
            frequency = show(mode.frequency_hz, "frequency", units)
            yield "the drive's own swing", f"{frequency}, damping ratio {mode.damping:.3f}"


def _cycle_rows(study: CycleStudy, units: UnitSystem) -> Iterator[tuple[str, str]]:
    yield "turns, time", f"{study.turns:.1f} turns, {show(study.duration_s, 'time', units)}"
    yield "tension at full speed, mean", show(study.tension_mean_n, "force", units)
    yield "tension, most", show(study.tension_peak_n, "force", units)
    yield "arm", show_range(study.arm_angle_low_rad, study.arm_angle_high_rad, "angle", units)
    yield "stop hits", f"lower {study.lower_hits}, upper {study.upper_hits}"
    yield "slack film", show(study.slack_time_s, "time", units)
    yield (
        "balances of the calculation",
        f"film {abs(study.film_residual):.0e}, energy {abs(study.energy_residual):.0e}",
    )
    if study.reference_angle_rad is not None and study.reference_tension_n is not None:
        yield (
            "other integrator, largest difference",
            f"{study.reference_angle_rad:.1e} rad, {study.reference_tension_n:.1e} N",
        )


def _steady_rows(steady: SteadyState, units: UnitSystem) -> Iterator[tuple[str, str]]:
    yield (
        "tension",
        f"{show_range(steady.tension_low_n, steady.tension_peak_n, 'force', units)},"
        f" mean {show(steady.tension_mean_n, 'force', units)},"
        f" peak {steady.peak_over_mean:.2f} times the mean",
    )
    yield "tension ripple", f"{steady.tension_ripple:.1%} of the mean"
    yield (
        "swing",
        f"{show_range(steady.arm_angle_low_rad, steady.arm_angle_high_rad, 'angle', units)},"
        f" {steady.travel_used:.0%} of the way from mid travel to a stop",
    )
    yield "swing that comes with the corners", f"{steady.corner_share:.1%} of its energy"
    yield "smooth", "yes" if steady.is_smooth else "no: " + "; ".join(steady.faults)


def print_tuning(study: TuneStudy, units: UnitSystem) -> None:
    """The highest smooth speed, and what was tried."""
    out = console()
    out.print(Text(study.title or "A case without a title", style="bold"))
    out.print()
    print_rows(out, "Highest turning speed that stays smooth", _speed_rows(study, units))
    print_table(
        out,
        f"Best of {study.tried} tried at"
        f" {show(study.turning_speed_rad_per_s, 'turning_speed', units)}"
        f" for {show(study.force_to_load_n, 'force', units)}",
        ("spring in hole", "gain\nm/s/rad", "mean\ntension", "ripple", "travel\nused", "smooth"),
        [
            (
                f"{show(row.rate_n_per_m, 'stiffness', 'si')} in"
                f" {show(row.hole_m, 'small_length', 'si')}",
                significant(row.gain_m_per_s_rad),
                show(row.steady.tension_mean_n, "force", table_units(out, units)),
                f"{row.steady.tension_ripple:.1%}",
                f"{row.steady.travel_used:.0%}",
                "yes" if row.fits else "; ".join(row.steady.faults) or "other tension",
            )
            for row in study.best
        ],
    )
    out.print(Text(f"Method: {study.method}."))
    out.print()
    _print_notes(out, "Notes", study.notes)
    _print_placeholders(out, study.rests_on, units)
    print_cautions(out, study.cautions)


def _speed_rows(study: TuneStudy, units: UnitSystem) -> Iterator[tuple[str, str]]:
    def words(speed: float | None) -> str:
        if speed is None:
            return "none of those tried"
        fastest = max(each.turning_speed_rad_per_s for each in study.speeds)
        least = " or more (the fastest tried)" if speed >= 0.999 * fastest else ""
        return show(speed, "turning_speed", units) + least

    yield "as it is set", words(study.highest_smooth_speed_rad_per_s)
    unsmooth = [each for each in study.speeds if not each.is_smooth]
    if unsmooth:
        first = unsmooth[0]
        at = show(first.turning_speed_rad_per_s, "turning_speed", units)
        yield "what comes first above it", f"at {at} {'; '.join(first.faults)}"
    if study.best and study.best[0].fits:
        yield "with the best below", words(study.tuned_highest_smooth_speed_rad_per_s)


def print_trace(study: TraceStudy, units: UnitSystem) -> None:
    """A trace's verdict, what it rests on, and what to try."""
    out = console()
    out.print(Text(f"{study.file}: {study.verdict}", style="bold"))
    out.print(Text(study.sentence))
    out.print()
    for finding in study.trace_findings:
        out.print(Text(finding.code, style="bold"))
        out.print(Padding(Text(finding.evidence), (0, 0, 0, 2)))
        out.print(Padding(Text(f"Try first: {finding.try_first}"), (0, 0, 1, 2)))
    print_rows(out, "The trace", _trace_rows(study, units))
    print_rows(out, "The swing", _swing_rows(study, units))
    if study.simulated is not None:
        print_rows(
            out,
            "The model's turn laid over it",
            [
                (
                    "difference",
                    f"{math.degrees(study.simulated.difference_rms_rad):.2f}° (root mean square)",
                )
            ],
        )
    if study.fit is not None:
        print_table(
            out,
            "Fitted to the trace, with two standard errors either way",
            ("constant", "from", "fitted", "range"),
            [
                (
                    f"{each.name} [{each.unit}]",
                    significant(each.start),
                    significant(each.value),
                    f"{significant(each.low)} to {significant(each.high)}",
                )
                for each in study.fit.values
            ],
        )
    limits = ", ".join(f"{name} {value:g}" for name, value in study.thresholds.items())
    out.print(Text(f"Limits ({study.thresholds_origin}): {limits}."))
    out.print()
    _print_notes(out, "Notes", study.notes)
    _print_placeholders(out, study.rests_on, units)
    print_cautions(out, study.cautions)


def _trace_rows(study: TraceStudy, units: UnitSystem) -> Iterator[tuple[str, str]]:
    missing = f", {study.rows_missing} left out for a missing value" if study.rows_missing else ""
    yield "rows", f"{study.rows}{missing}, over {show(study.duration_s, 'time', units)}"
    speed = show(study.turning_speed_rad_per_s, "turning_speed", units)
    sure = "" if study.turn_is_certain else ", not certain"
    yield "turn", f"{show(study.turn_period_s, 'time', units)}, that is {speed}{sure}"
    yield "steady turns used", f"{study.turns_used}"


def _swing_rows(study: TraceStudy, units: UnitSystem) -> Iterator[tuple[str, str]]:
    kind = study.position_kind
    yield "in an average turn", show(study.swing_peak_to_peak, kind, units) + " peak to peak"
    yield "with the corners", f"{study.corner_share:.1%} of the swing's energy"
    yield "the same every turn", f"{study.repeating_share:.1%}"
    if study.bounce is None:
        yield "ringing", "none above the noise"
    else:
        found = study.bounce
        frequency = f"{found.frequency_hz:.2f} ± {found.frequency_error_hz:.2f} Hz"
        damping = f"{found.damping:.3f} ± {found.damping_error:.3f}"
        yield (
            "ringing",
            f"{study.bounce_share:.1%}, at {frequency}, damping ratio {damping},"
            f" from {found.kicks} decays",
        )
    yield "slow and unlike from turn to turn", f"{study.slow_share:.1%}"
    if study.lower_hits is not None and study.upper_hits is not None:
        yield "stop hits", f"lower {study.lower_hits}, upper {study.upper_hits}"
    if study.slack_time_s is not None:
        yield (
            "at the upper stop (slack film)",
            f"{show(study.slack_time_s, 'time', units)} of"
            f" {show(study.working_time_s, 'time', units)}",
        )


def _print_notes(out: Console, heading: str, notes: Sequence[str]) -> None:
    if not notes:
        return
    out.print(Text(heading, style="bold"))
    for note in notes:
        out.print(Padding(Text(note), (0, 0, 0, 2)))
    out.print()


def _print_placeholders(out: Console, rests: Sequence[RestsOn], units: UnitSystem) -> None:
    if not rests:
        return
    units = table_units(out, units)
    print_table(
        out,
        f"Rests on {len(rests)} placeholders that nobody measured",
        ("input", "value", "may lie in"),
        [
            (
                each.field,
                show(each.value, each.kind, units),
                "not known"
                if each.low is None or each.high is None
                else show_range(each.low, each.high, each.kind, units),
            )
            for each in rests
        ],
    )

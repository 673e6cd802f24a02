"""A recorded trace in words: its verdict, what that rests on, and what to try."""

from __future__ import annotations

import math
from collections.abc import Iterator

from woold.dancer.cycle_rows import hits_text
from woold.dancer.film_force import FilmForce
from woold.dancer.placeholder_rows import note_list, placeholder_table
from woold.dancer.results import FitStudy, FittedConstant, TraceStudy
from woold.rows.blocks import Block, Bullets, Cautions, Facts, Heading, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.words import to_say

__all__ = ["fitted_table", "trace_blocks"]

_CONSTANTS = {
    "inertia": to_say("inertia"),
    "damping": to_say("damping"),
    "film_stiffness": to_say("film stiffness"),
    "friction_torque": to_say("friction torque"),
    "gain": to_say("gain"),
    "lag": to_say("lag"),
}


_CAUSES = 4
"""Causes of doubt that are told; the document has them all."""

_PARTS = {
    "corners": to_say("with the corners"),
    "ringing": to_say("ringing after the corners"),
    "oscillation": to_say("steady oscillation, in no step with the turn"),
    "hunting": to_say("slow hunting, slower than a turn"),
    "drift": to_say("drift"),
    "rest": to_say("the rest: noise and what keeps to nothing"),
}


def trace_blocks(study: TraceStudy, say: Wording, brief: Wording) -> Iterator[Block]:
    """A trace's verdict, what it rests on, and what to try.

    Args:
        study: the trace.
        say: words and numbers.
        brief: the same for cells of wide tables.
    """
    yield Heading(f"{study.file}: {say(study.verdict)}")
    yield Paragraph(study.sentence)
    if study.may_be:
        words = ", ".join(say(word) for word in study.may_be)
        yield Paragraph(
            say("It may be: {words}.", words=words)
            if study.verdict == "uncertain"
            else say("It may also be: {words}.", words=words)
        )
        reasons = dict.fromkeys(say.sentence(each.reason) for each in study.doubts)
        yield Bullets(tuple(reasons))
    for finding in study.trace_findings:
        yield Heading(say(finding.code), 3)
        yield Bullets(
            (
                say.sentence(finding.evidence),
                say("Try first: {what}", what=say.sentence(finding.try_first)),
            )
        )
    if study.film_force is not None:
        yield Facts(say("Film force by the dancer"), tuple(_force_rows(study.film_force, say)))
    yield Facts(say("The trace"), tuple(_trace_rows(study, say)))
    yield Facts(say("The swing"), tuple(_swing_rows(study, say)))
    yield _energy_table(study, say)
    if study.simulated is not None:
        apart = say.fixed(math.degrees(study.simulated.difference_rms_rad), 2)
        text = say("{angle}° (root mean square)", angle=apart)
        yield Facts(say("The model's turn laid over it"), (Row(say("difference"), text),))
    if study.fit is not None:
        yield from _fit_blocks(study.fit, say)
    limits = ", ".join(f"{name} {say.number(value)}" for name, value in study.thresholds.items())
    origin = say(study.thresholds_origin)
    yield Paragraph(say("Limits ({origin}): {limits}.", origin=origin, limits=limits))
    yield from note_list(say("Notes"), study.notes, say)
    yield from placeholder_table(study.rests_on, say, brief)
    yield Cautions(say("Take care"), tuple(say(each) for each in study.cautions))


def _energy_table(study: TraceStudy, say: Wording) -> Table:
    return Table(
        say("Where the energy of the motion goes: all of it, and the swing without its drift"),
        (say("motion"), say("size (rms)"), say("of all"), say("of the swing")),
        tuple(
            (
                say(_PARTS[part.name]),
                say.amount(part.rms, study.position_kind),
                say.percent(part.share),
                "" if part.swing_share is None else say.percent(part.swing_share),
            )
            for part in study.energy
        ),
    )


def _trace_rows(study: TraceStudy, say: Wording) -> Iterator[Row]:
    time = say.amount(study.duration_s, "time")
    if study.rows_missing:
        rows = say(
            "{rows}, {missing} left out for a missing value, over {time}",
            rows=study.rows,
            missing=study.rows_missing,
            time=time,
        )
    else:
        rows = say("{rows}, over {time}", rows=study.rows, time=time)
    yield Row(say("rows"), rows)
    turn = say(
        "{time}, that is {speed}",
        time=say.amount(study.turn_period_s, "time"),
        speed=say.amount(study.turning_speed_rad_per_s, "turning_speed"),
    )
    yield Row(say("turn"), turn if study.turn_is_certain else _uncertain_turn(study, turn, say))
    yield Row(say("steady turns used"), f"{study.turns_used}")


def _uncertain_turn(study: TraceStudy, turn: str, say: Wording) -> str:
    others = [say.amount(each, "time") for each in study.turn_readings_s[1:]]
    if not others:
        return say("{turn}, not certain", turn=turn)
    return say("{turn}; not certain, it may be {others}", turn=turn, others=", ".join(others))


def _force_rows(found: FilmForce, say: Wording) -> Iterator[Row]:
    low, high = found.film_force_low_n, found.film_force_high_n
    yield Row(
        say("mean over whole turns"),
        say(
            "{force}; with nine chances in ten {span}",
            force=say.amount(found.film_force_n, "force"),
            span=say.span(low, high, "force"),
        ),
    )
    stated = say.amount(found.force_to_load_n, "force")
    yield Row(
        say("force to load of the case"),
        say("{force}, within", force=stated)
        if low <= found.force_to_load_n <= high
        else say("{force}, outside: mend it, or look at spring and hole", force=stated),
    )
    yield Row(
        say("rests on"),
        say(
            "spring {spring} at {hole} from the pivot, lines of film: {lines}, whole turns without"
            " a stop: {turns}",
            spring=found.spring,
            hole=say.amount(found.hole_m, "small_length"),
            lines=say.number(found.film_lines),
            turns=found.turns,
        ),
    )
    causes = (
        say("{cause} {share}", cause=say(each.cause), share=say.percent(each.share))
        for each in found.doubts[:_CAUSES]
    )
    yield Row(say("off by, most of all"), ", ".join(causes))


def _swing_rows(study: TraceStudy, say: Wording) -> Iterator[Row]:
    yield Row(
        say("in an average turn"),
        say(
            "{swing} peak to peak",
            swing=say.amount(study.swing_peak_to_peak, study.position_kind),
        ),
    )
    yield Row(say("ringing"), _ringing_text(study, say))
    if study.oscillation_hz is not None:
        yield Row(say("steady oscillation"), f"{say.fixed(study.oscillation_hz, 2)} Hz")
    if study.hunting_hz is not None:
        yield Row(
            say("hunting"),
            say("one wave in {time}", time=say.amount(1 / study.hunting_hz, "time")),
        )
    yield Row(
        say("what the sampling rate shows"),
        say(
            "swings up to {highest} Hz, at {rate} samples a second",
            highest=say.number(study.rate_hz / 2),
            rate=say.number(study.rate_hz),
        ),
    )
    if study.lower_hits is not None and study.upper_hits is not None:
        yield Row(say("stop hits"), hits_text(study.lower_hits, study.upper_hits, say))
    if study.slack_time_s is not None:
        yield Row(
            say("at the upper stop (slack film)"),
            say(
                "{part} of {whole}, spells: {spells}",
                spells=study.slack_spells,
                part=say.amount(study.slack_time_s, "time"),
                whole=say.amount(study.working_time_s, "time"),
            ),
        )


def _ringing_text(study: TraceStudy, say: Wording) -> str:
    if study.frequency_readings_hz:
        return say(
            "frequency not told by this sampling rate, it may be {readings} Hz",
            readings=", ".join(say.fixed(each, 2) for each in study.frequency_readings_hz),
        )
    found = study.bounce
    if found is None:
        return say("none above the noise")
    return say(
        "at {frequency} ± {frequency_error} Hz, damping ratio {damping} ± {damping_error}"
        " (decays: {kicks})",
        frequency=say.fixed(found.frequency_hz, 2),
        frequency_error=say.fixed(found.frequency_error_hz, 2),
        damping=say.fixed(found.damping, 3),
        damping_error=say.fixed(found.damping_error, 3),
        kicks=found.kicks,
    )


def fitted_table(fit: FitStudy, say: Wording) -> Table:
    """Constants fitted to the trace, each with its range.

    Args:
        fit: what was fitted.
        say: words and numbers.
    """
    caption = say("Fitted to the trace, with two standard errors either way")
    return _constant_table(caption, fit.values, say)


def _fit_blocks(fit: FitStudy, say: Wording) -> Iterator[Block]:
    yield fitted_table(fit, say)
    lines = []
    if fit.test.is_lacking:
        lines.append(
            say(
                "The model does not describe this turn: it leaves {ratio} times what the turns"
                " differ by (F test, p {probability}). Take the values for no more than a hint;"
                " their ranges are widened by as much.",
                ratio=say.number(fit.test.ratio),
                probability=say.number(fit.test.probability),
            )
        )
    else:
        lines.append(
            say(
                "No lack of fit: the model leaves {ratio} times what the turns differ by (F test,"
                " p {probability}).",
                ratio=say.number(fit.test.ratio),
                probability=say.number(fit.test.probability),
            )
        )
    if fit.allowed:
        names = ", ".join(
            say("{name} by {factor}", name=say(_CONSTANTS[each.name]), factor=f"{each.factor:g}")
            for each in fit.allowed
        )
        lines.append(
            say(
                "The ranges allow for the typed values being off by a factor: {names}.", names=names
            )
        )
    lines.append(
        say(
            "Searches that ended here: {agreeing} of {starts}.",
            agreeing=fit.starts_agreeing,
            starts=fit.starts,
        )
    )
    yield Bullets(tuple(lines))
    if fit.all_values:
        yield Paragraph(
            say(
                "With the rest as typed these do not fit as well as all together: the Bayesian"
                " information criterion is lower by {gain} with all fitted. Look at what was"
                " typed.",
                gain=say.number(fit.criterion_gain),
            )
        )
        yield _constant_table(say("All constants fitted together"), fit.all_values, say)


def _constant_table(caption: str, values: tuple[FittedConstant, ...], say: Wording) -> Table:
    return Table(
        caption,
        (say("constant"), say("from"), say("fitted"), say("range")),
        tuple(
            (
                f"{say(_CONSTANTS[each.name])} [{each.unit}]",
                say.number(each.start),
                say.number(each.value),
                say("{low} to {high}", low=say.number(each.low), high=say.number(each.high)),
            )
            for each in values
        ),
    )

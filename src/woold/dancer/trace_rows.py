"""A recorded trace in words: its verdict, what that rests on, and what to try."""

from __future__ import annotations

import math
from collections.abc import Iterator

from woold.dancer.cycle_rows import hits_text
from woold.dancer.placeholder_rows import note_list, placeholder_table
from woold.dancer.results import FitStudy, TraceStudy
from woold.rows.blocks import Block, Bullets, Cautions, Facts, Heading, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.words import to_say

__all__ = ["trace_blocks"]

_CONSTANTS = {
    "inertia": to_say("inertia"),
    "damping": to_say("damping"),
    "film_stiffness": to_say("film stiffness"),
    "friction_torque": to_say("friction torque"),
    "gain": to_say("gain"),
    "lag": to_say("lag"),
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
    for finding in study.trace_findings:
        yield Heading(say(finding.code), 3)
        yield Bullets(
            (
                say.sentence(finding.evidence),
                say("Try first: {what}", what=say.sentence(finding.try_first)),
            )
        )
    yield Facts(say("The trace"), tuple(_trace_rows(study, say)))
    yield Facts(say("The swing"), tuple(_swing_rows(study, say)))
    if study.simulated is not None:
        apart = say.fixed(math.degrees(study.simulated.difference_rms_rad), 2)
        text = say("{angle}° (root mean square)", angle=apart)
        yield Facts(say("The model's turn laid over it"), (Row(say("difference"), text),))
    if study.fit is not None:
        yield _fit_table(study.fit, say)
    limits = ", ".join(f"{name} {say.number(value)}" for name, value in study.thresholds.items())
    origin = say(study.thresholds_origin)
    yield Paragraph(say("Limits ({origin}): {limits}.", origin=origin, limits=limits))
    yield from note_list(say("Notes"), study.notes, say)
    yield from placeholder_table(study.rests_on, say, brief)
    yield Cautions(say("Take care"), tuple(say(each) for each in study.cautions))


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
    yield Row(say("turn"), turn if study.turn_is_certain else say("{turn}, not certain", turn=turn))
    yield Row(say("steady turns used"), f"{study.turns_used}")


def _swing_rows(study: TraceStudy, say: Wording) -> Iterator[Row]:
    yield Row(
        say("in an average turn"),
        say(
            "{swing} peak to peak",
            swing=say.amount(study.swing_peak_to_peak, study.position_kind),
        ),
    )
    yield Row(
        say("with the corners"),
        say("{share} of the swing's energy", share=say.percent(study.corner_share)),
    )
    yield Row(say("the same every turn"), say.percent(study.repeating_share))
    yield Row(say("ringing"), _ringing_text(study, say))
    yield Row(say("slow and unlike from turn to turn"), say.percent(study.slow_share))
    if study.lower_hits is not None and study.upper_hits is not None:
        yield Row(say("stop hits"), hits_text(study.lower_hits, study.upper_hits, say))
    if study.slack_time_s is not None:
        yield Row(
            say("at the upper stop (slack film)"),
            say(
                "{part} of {whole}",
                part=say.amount(study.slack_time_s, "time"),
                whole=say.amount(study.working_time_s, "time"),
            ),
        )


def _ringing_text(study: TraceStudy, say: Wording) -> str:
    found = study.bounce
    if found is None:
        return say("none above the noise")
    return say(
        "{share}, at {frequency} ± {frequency_error} Hz, damping ratio {damping} ±"
        " {damping_error} (decays: {kicks})",
        share=say.percent(study.bounce_share),
        frequency=say.fixed(found.frequency_hz, 2),
        frequency_error=say.fixed(found.frequency_error_hz, 2),
        damping=say.fixed(found.damping, 3),
        damping_error=say.fixed(found.damping_error, 3),
        kicks=found.kicks,
    )


def _fit_table(fit: FitStudy, say: Wording) -> Table:
    return Table(
        say("Fitted to the trace, with two standard errors either way"),
        (say("constant"), say("from"), say("fitted"), say("range")),
        tuple(
            (
                f"{say(_CONSTANTS[each.name])} [{each.unit}]",
                say.number(each.start),
                say.number(each.value),
                say("{low} to {high}", low=say.number(each.low), high=say.number(each.high)),
            )
            for each in fit.values
        ),
    )

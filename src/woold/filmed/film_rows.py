"""A film in words: its verdict and what that rests on, as of a trace, and how well it was seen."""

from __future__ import annotations

import math
from collections.abc import Iterator

from woold.dancer.trace_rows import trace_blocks
from woold.filmed.results import FilmStudy
from woold.rows.blocks import Block, Cautions, Facts, Heading, Note, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.words import to_say

__all__ = ["film_blocks"]

_METHODS = {
    "tags": to_say("printed tags"),
    "points": to_say("two picked points, by optical flow"),
}


def film_blocks(study: FilmStudy, say: Wording, brief: Wording) -> Iterator[Block]:
    """A film's verdict, what it rests on, and how well it was seen.

    Args:
        study: the film.
        say: words and numbers.
        brief: the same for cells of wide tables.
    """
    if study.trace is None:
        yield Heading(f"{study.file}: {say(study.verdict)}")
        yield Paragraph(study.sentence)
    else:
        for block in trace_blocks(study.trace, say, brief):
            if not isinstance(block, Cautions):
                yield block
    yield Facts(say("The film"), tuple(_film_rows(study, say)))
    yield Facts(say("How sure it is"), tuple(_error_rows(study, say)))
    if study.tags:
        yield _tag_table(study, say)
    if study.findings:
        yield Heading(say("What to know of this film"), 3)
        for each in study.findings:
            yield Note(say(each.field), say.sentence(each.message))
    yield Cautions(say("Take care"), tuple(say(each) for each in study.cautions))


def _film_rows(study: FilmStudy, say: Wording) -> Iterator[Row]:
    size = say(
        "{width} by {height} pixels",
        width=study.width_px,
        height=study.height_px,
    )
    turned = say("turned by {angle}°", angle=study.rotation_deg) if study.rotation_deg else ""
    yield Row(say("picture"), size, "", turned)
    yield Row(
        say("frames"),
        say(
            "{frames} over {time}, {rate} a second",
            frames=study.frames,
            time=say.amount(study.duration_s, "time"),
            rate=say.number(study.frame_rate_hz),
        ),
    )
    yield Row(say("arm followed by"), say(_METHODS[study.method]))
    yield Row(
        say("arm not seen in"), say("{share} of the frames", share=say.percent(study.lost_share))
    )
    if study.turn_pulses:
        yield Row(say("turns by the load's tag"), f"{study.turn_pulses}")


def _error_rows(study: FilmStudy, say: Wording) -> Iterator[Row]:
    if study.angle_error_rad is not None:
        yield Row(
            say("arm's angle in a frame"),
            say(
                "± {angle}° (standard error)",
                angle=say.fixed(math.degrees(study.angle_error_rad), 2),
            ),
        )
    if study.features_kept_share is not None:
        yield Row(say("marks that flow found again"), say.percent(study.features_kept_share, 0))
    yield Row(
        say("ringing that it can show"),
        say("up to {frequency} Hz", frequency=say.number(study.frequency_highest_hz)),
    )
    if study.exposure_s is not None and study.exposure_error_s is not None:
        yield Row(
            say("shutter open for"), _milliseconds(study.exposure_s, study.exposure_error_s, say)
        )
    if study.readout_s is not None and study.readout_error_s is not None:
        yield Row(
            say("first row of a picture to its last"),
            _milliseconds(study.readout_s, study.readout_error_s, say),
            "",
            say("taken out of the angle") if study.readout_s else "",
        )
    if study.slant_rad is not None:
        slant = say("about {angle}°", angle=say.fixed(math.degrees(study.slant_rad), 0))
        yield Row(say("camera from straight on"), slant, "", say("taken out of the angle"))


def _milliseconds(value: float, error: float, say: Wording) -> str:
    if not value:
        return say("none seen, or below {most} ms", most=say.fixed(2e3 * error, 1))
    return say(
        "{value} ± {error} ms", value=say.fixed(1e3 * value, 1), error=say.fixed(1e3 * error, 1)
    )


def _tag_table(study: FilmStudy, say: Wording) -> Table:
    return Table(
        say("Tags"),
        (say("tag on"), say("seen in"), say("side [pixels]"), say("corner ± [pixels]")),
        tuple(
            (
                say(each.tag),
                say.percent(each.seen_share, 0),
                "" if each.side_px is None else say.fixed(each.side_px, 0),
                "" if each.corner_error_px is None else say.fixed(each.corner_error_px, 3),
            )
            for each in study.tags
        ),
    )

"""A tuning of the dancer in words: how fast it may turn, and the best of what was tried."""

from __future__ import annotations

from collections.abc import Iterator

from woold.dancer.cycle_rows import faults_text
from woold.dancer.placeholder_rows import note_list, placeholder_table
from woold.dancer.results import TuneStudy
from woold.dancer.spring_rows import spring_in_hole
from woold.rows.blocks import Block, Cautions, Facts, Heading, Paragraph, Row, Table
from woold.rows.wording import Wording

__all__ = ["tuning_blocks"]


def tuning_blocks(study: TuneStudy, say: Wording, brief: Wording) -> Iterator[Block]:
    """The highest smooth speed, and what was tried.

    Args:
        study: the tuning.
        say: words and numbers.
        brief: the same for cells of wide tables.
    """
    yield Heading(study.title or say("A case without a title"))
    yield Facts(say("Highest turning speed that stays smooth"), tuple(_speed_rows(study, say)))
    yield _best_table(study, say, brief)
    yield Paragraph(say("Method: {method}.", method=study.method))
    yield from note_list(say("Notes"), study.notes, say)
    yield from placeholder_table(study.rests_on, say, brief)
    yield Cautions(say("Take care"), tuple(say(each) for each in study.cautions))


def _speed_rows(study: TuneStudy, say: Wording) -> Iterator[Row]:
    yield Row(say("as it is set"), _speed_text(study.highest_smooth_speed_rad_per_s, study, say))
    unsmooth = [each for each in study.speeds if not each.is_smooth]
    if unsmooth:
        first = unsmooth[0]
        yield Row(
            say("what comes first above it"),
            say(
                "at {speed} {faults}",
                speed=say.amount(first.turning_speed_rad_per_s, "turning_speed"),
                faults=faults_text(first, say),
            ),
        )
    if study.best and study.best[0].fits:
        tuned = study.tuned_highest_smooth_speed_rad_per_s
        yield Row(say("with the best below"), _speed_text(tuned, study, say))


def _speed_text(speed: float | None, study: TuneStudy, say: Wording) -> str:
    if speed is None:
        return say("none of those tried")
    fastest = max(each.turning_speed_rad_per_s for each in study.speeds)
    text = say.amount(speed, "turning_speed")
    if speed >= 0.999 * fastest:
        return say("{speed} or more (the fastest tried)", speed=text)
    return text


def _best_table(study: TuneStudy, say: Wording, brief: Wording) -> Table:
    return Table(
        say(
            "Best of {tried} tried at {speed} for {force}",
            tried=study.tried,
            speed=say.amount(study.turning_speed_rad_per_s, "turning_speed"),
            force=say.amount(study.force_to_load_n, "force"),
        ),
        (
            say("spring in hole"),
            say("gain m/s/rad"),
            say("mean tension"),
            say("ripple"),
            say("travel used"),
            say("smooth"),
        ),
        tuple(
            (
                spring_in_hole(row.rate_n_per_m, row.hole_m, say),
                say.number(row.gain_m_per_s_rad),
                brief.amount(row.steady.tension_mean_n, "force"),
                say.percent(row.steady.tension_ripple),
                say.percent(row.steady.travel_used, 0),
                say("yes") if row.fits else faults_text(row.steady, say) or say("other tension"),
            )
            for row in study.best
        ),
    )

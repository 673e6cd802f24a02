"""A comparison of two carriages in words: both side by side, the saving by cause, its uses."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from woold.carriages.comparison import CarriageComparison, ComparedCarriage
from woold.prediction.names import governing_name
from woold.prediction.rows import overlap_text
from woold.rows.blocks import Block, Bullets, Facts, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.uncertainty.rows import RANGE_MEANING
from woold.verdict.rows import verdict_answer, verdict_row
from woold.verdict.texts import mend_text, offers
from woold.words import to_say

__all__ = ["answered_blocks", "comparison_answer", "comparison_blocks", "draws_text"]


def comparison_answer(c: CarriageComparison, say: Wording) -> str:
    """What the candidate saves, and how sure that is; that it is none where it does not hold."""
    film = _film_answer(c, say)
    if c.is_saving:
        return film
    if c.candidate_verdict.holds is None:
        return say(
            "Whether the load holds with the candidate's carriage cannot be said, so what it uses"
            " less is no saving yet. {film}",
            film=film,
        )
    return say(
        "With the candidate's carriage the load does not hold what is asked of it, so what it uses"
        " less is no saving. {film}",
        film=film,
    )


def _film_answer(c: CarriageComparison, say: Wording) -> str:
    low, high = sorted((abs(c.saving_interval.low), abs(c.saving_interval.high)))
    if c.saving_interval.low >= 0.0:
        key = to_say(
            "On the same load, with the same force to load and overlap, the candidate uses"
            " {saving} less film than the base (90 % range {low} to {high})."
        )
    elif c.saving_interval.high <= 0.0:
        key = to_say(
            "On the same load, with the same force to load and overlap, the candidate uses"
            " {saving} more film than the base (90 % range {low} to {high})."
        )
    else:
        return say(
            "On the same load it is open whether the candidate saves film: the 90 % range goes"
            " from {low} to {high}, and the candidate uses less in {share} of the draws.",
            low=say.percent(c.saving_interval.low),
            high=say.percent(c.saving_interval.high),
            share=say.percent(c.candidate_uses_less_share, 0),
        )
    return say(key, saving=say.percent(abs(c.saving)), low=say.percent(low), high=say.percent(high))


def answered_blocks(c: CarriageComparison, say: Wording, brief: Wording) -> list[Block]:
    """The answer, and what it rests on.

    Args:
        c: the comparison.
        say: words and numbers.
        brief: the same for tables, which may have less room.
    """
    answer = Paragraph(comparison_answer(c, say), is_strong=True)
    return [answer, *comparison_blocks(c, say, brief), Paragraph(draws_text(c, say))]


def comparison_blocks(c: CarriageComparison, say: Wording, brief: Wording) -> list[Block]:
    """Both carriages, whether they hold, where the saving comes from, two ways to spend it.

    Args:
        c: the comparison.
        say: words and numbers.
        brief: the same for tables, which may have less room.
    """
    blocks: list[Block] = [
        *_verdict_blocks(c, say),
        _carriage_table(c, brief),
        _cause_table(c, say),
    ]
    if c.is_saving:
        blocks.append(Facts(say("Two ways to spend the saving"), tuple(_spending_rows(c, say))))
    blocks.append(Facts(say("Width"), tuple(_width_rows(c, say))))
    return blocks


def _verdict_blocks(c: CarriageComparison, say: Wording) -> Iterator[Block]:
    """Whether the load holds with each; what to ask where nothing is asked."""
    if not c.base_verdict.asked:
        yield Paragraph(verdict_answer(c.base_verdict, say))
        yield Bullets(offers(say))
        return
    rows = [
        Row(say("base"), verdict_answer(c.base_verdict, say)),
        Row(say("candidate"), verdict_answer(c.candidate_verdict, say)),
    ]
    worst = c.candidate_verdict.worst
    if worst is not None and not c.candidate_verdict.holds:
        rows.append(Row(say("what mends the candidate first"), mend_text(worst, say)))
    yield Facts(say("Does the load hold"), tuple(rows))


def _carriage_table(c: CarriageComparison, say: Wording) -> Table:
    def row(label: str, text: Callable[[ComparedCarriage], str]) -> tuple[str, str, str]:
        return say(label), text(c.base), text(c.candidate)

    def amount(label: str, name: str, kind: str) -> tuple[str, str, str]:
        return row(label, lambda each: say.amount(getattr(each, name), kind))

    rows = [
        amount(to_say("film per load"), "film_mass_kg", "small_mass"),
        amount(to_say("film length per load"), "film_length_m", "film_length"),
        amount(to_say("pre-stretch by gears"), "prestretch_geared", "elongation"),
        amount(to_say("pre-stretch delivered"), "prestretch_delivered", "elongation"),
        row(
            to_say("what sets the pre-stretch"),
            lambda each: governing_name(each.prestretch_governed_by),
        ),
        row(
            to_say("grip, slow roller"),
            lambda each: say("{margin} times the need", margin=say.fixed(each.grip_margin_slow, 2)),
        ),
        row(
            to_say("grip, fast roller"),
            lambda each: say("{margin} times the need", margin=say.fixed(each.grip_margin_fast, 2)),
        ),
        amount(to_say("gap, slow to fast roller"), "gap_m", "small_length"),
        amount(to_say("drawn already on the slow roller"), "slip_arc_m", "small_length"),
        amount(to_say("smaller contact angle"), "contact_angle_rad", "angle"),
        amount(to_say("stretch on the load"), "stretch_on_load", "elongation"),
        amount(to_say("film width on the load"), "film_width_on_load_m", "small_length"),
        amount(to_say("neck-down"), "neck_down_m", "small_length"),
        amount(to_say("rise per turn"), "rise_per_turn_m", "small_length"),
        row(
            to_say("overlap"),
            lambda each: overlap_text(each.overlap_up, each.film_width_on_load_m, say),
        ),
        row(to_say("turns"), lambda each: say.fixed(each.turns, 1)),
        amount(to_say("cycle time"), "cycle_time_s", "time"),
        row(to_say("layers, least"), lambda each: say.number(each.layers_min, 2)),
        amount(to_say("containment force, least"), "containment_min_n", "force"),
    ]
    held = [verdict_row(each, say) for each in (c.base_verdict, c.candidate_verdict)]
    rows.insert(0, (held[0].label, held[0].value, held[1].value))
    costs = [each.film_cost for each in (c.base, c.candidate) if each.film_cost is not None]
    if len(costs) == 2:
        base, candidate = (f"{say.fixed(cost, 3)} {c.currency}" for cost in costs)
        rows.insert(2, (say("film cost per load"), base, candidate))
    columns = (say("on the base's load"), say("base"), say("candidate"))
    return Table(say("Both carriages"), columns, tuple(rows))


def _cause_table(c: CarriageComparison, say: Wording) -> Table:
    rows = tuple(
        (
            say(cause.cause),
            say.percent(cause.alone),
            say.percent(cause.share),
            say(
                "{low} to {high}",
                low=say.percent(cause.interval.low),
                high=say.percent(cause.interval.high),
            ),
        )
        for cause in c.causes
    )
    columns = (
        to_say("cause"),
        to_say("if only it changed"),
        to_say("its part"),
        to_say("90 % range"),
    )
    heads = tuple(say(name) for name in columns)
    caption = (
        say("Where the saving comes from, as shares of the base's film")
        if c.is_saving
        else say("Where the difference in film comes from, as shares of the base's film")
    )
    return Table(caption, heads, rows)


def _spending_rows(c: CarriageComparison, say: Wording) -> Iterator[Row]:
    s = c.spending
    mass = say.amount(s.film_saved_per_year_kg, "mass")
    if s.cost_saved_per_year is not None:
        mass = f"{mass}, {say.money(s.cost_saved_per_year, c.currency)}"
    yield Row(
        say("less film, at equal hold"),
        say(
            "{load} a load, {year} a year",
            load=say.amount(s.film_saved_kg, "small_mass"),
            year=mass,
        ),
    )
    yield Row(
        say("as much film, more turns"), say("{turns} turns", turns=say.fixed(s.extra_turns, 1))
    )
    if s.overlap_at_equal_film is not None:
        width = c.candidate.film_width_on_load_m
        yield Row(
            say("overlap, if spent on more turns"),
            say(
                "{overlap} instead of {now}",
                overlap=overlap_text(s.overlap_at_equal_film, width, say),
                now=overlap_text(c.candidate.overlap_up, width, say),
            ),
        )
    if s.layers_mean_at_equal_film is not None:
        yield Row(
            say("layers on average, if spent so"),
            say(
                "{layers} instead of {now}",
                layers=say.fixed(s.layers_mean_at_equal_film, 1),
                now=say.fixed(c.base.layers_mean, 1),
            ),
        )
    if s.containment_at_equal_film_n is not None:
        yield Row(
            say("containment force, least, if spent so"),
            say.amount(s.containment_at_equal_film_n, "force"),
        )


def _width_rows(c: CarriageComparison, say: Wording) -> Iterator[Row]:
    """What gap and contact have to do with the candidate's width."""
    yield _inch_row(c, say)
    if c.inch.arc_neck_down_m > 0.0:
        yield Row(
            say("contact on the slow roller"),
            say(
                "film is drawn already on the last {angle}, which makes {width} of the neck-down:"
                " the most that less contact could take away; contact beyond that arc holds the"
                " film and costs no width",
                angle=say.amount(c.inch.arc_angle_rad, "angle"),
                width=say.amount(c.inch.arc_neck_down_m, "small_length"),
            ),
        )


def _inch_row(c: CarriageComparison, say: Wording) -> Row:
    """What the trade's rule of thumb comes to here."""
    label, saving = say("an inch less neck-down"), say.percent(c.inch.saving)
    if c.inch.gap_m is None:
        return Row(label, say("saves {saving} of the film", saving=saving))
    return Row(
        label,
        say(
            "takes {gap} less gap, or arc of the slow roller on which film is drawn, and saves"
            " {saving} of the film",
            gap=say.amount(c.inch.gap_m, "small_length"),
            saving=saving,
        ),
    )


def draws_text(c: CarriageComparison, say: Wording) -> str:
    """What the ranges rest on, how often film slips, and what the ranges leave out."""
    text = say(
        "The 90 % range is the middle of {draws} draws (seed {seed}) of the inputs known"
        " within a range only: {inputs}.",
        draws=say.fixed(c.draws, 0),
        seed=c.seed,
        inputs=", ".join(c.varied) or say("none"),
    )
    if c.varied:
        text = f"{text} {say(RANGE_MEANING)}"
    slips = say(
        "Film slips in {base} of the draws with the base's carriage and in {candidate} with"
        " the candidate's.",
        base=say.percent(c.slips_share_base, 0),
        candidate=say.percent(c.slips_share_candidate, 0),
    )
    if c.law_share is None:
        return f"{text} {slips}"
    law = say(
        "Of what is open of the saving (its variance) the law of neck-down makes {law}, the same"
        " for both carriages; the inputs make the rest. One measured width of this film takes the"
        " law's part away.",
        law=say.percent(c.law_share, 0),
    )
    return f"{text} {slips} {law}"

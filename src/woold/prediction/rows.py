"""A prediction in words: names with their values, for reports and for the screen alike."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from woold.case.model import Case
from woold.prediction.result import Prediction
from woold.prediction.table_rows import height_columns, height_rows, part_columns, part_rows
from woold.prediction.yearly import Estimate
from woold.rows.blocks import Block, Facts, Paragraph, Row, Table
from woold.rows.wording import Wording

__all__ = [
    "NO_SPREAD",
    "Estimates",
    "film_and_hold_blocks",
    "film_rows",
    "hold_rows",
    "key_rows",
    "overlap_text",
    "prediction_blocks",
    "roll_rows",
    "time_and_roll_blocks",
    "time_rows",
]

Rows = Iterator[Row]
Estimates = Mapping[str, Estimate]
NO_SPREAD: Estimates = {}


def _value(say: Wording, p: Prediction, name: str, kind: str, spread: Estimates) -> str:
    """A value of the prediction, with its interval where that is known."""
    text = say.amount(getattr(p, name), kind)
    if name in spread:
        ends = say.span(spread[name].low, spread[name].high, kind)
        return say("{value}, 90 % range {interval}", value=text, interval=ends)
    return text


def _number(say: Wording, p: Prediction, name: str, digits: int, spread: Estimates) -> str:
    """A count of the prediction, with its interval where that is known."""
    text = say.fixed(getattr(p, name), digits)
    if name in spread:
        ends = say(
            "{low} to {high}",
            low=say.fixed(spread[name].low, digits),
            high=say.fixed(spread[name].high, digits),
        )
        return say("{value}, 90 % range {interval}", value=text, interval=ends)
    return text


def key_rows(p: Prediction, say: Wording) -> Rows:
    """What is read first, in few words: film, least force later, layers, cycle time."""
    cost = "" if p.film_cost is None else f"{say.fixed(p.film_cost, 3)} {p.currency}"
    yield Row(say("film per load"), say.amount(p.film_mass_kg, "small_mass"), note=cost)
    yield Row(
        say("containment force after {time}, least", time=say.amount(p.later_s, "hours")),
        say.amount(p.containment_later_min_n, "force"),
        note=say(
            "{force} if it loses force as fast as it may",
            force=say.amount(p.containment_later_low_n, "force"),
        ),
    )
    yield Row(
        say("layers, least"),
        say.number(p.layers_min, 2),
        note=say("{mean} on average", mean=say.fixed(p.layers_mean, 1)),
    )
    yield Row(
        say("cycle time"),
        say.amount(p.cycle_time_s, "time"),
        note=say("{turns} turns", turns=say.fixed(p.turns, 1)),
    )


def _film(p: Prediction, say: Wording, spread: Estimates) -> Row:
    cost = "" if p.film_cost is None else f", {say.fixed(p.film_cost, 3)} {p.currency}"
    return Row(say("film per load"), _value(say, p, "film_mass_kg", "small_mass", spread) + cost)


def _layers(p: Prediction, say: Wording) -> Row:
    least, mean = say.number(p.layers_min, 2), say.fixed(p.layers_mean, 1)
    return Row(say("layers"), say("{least} at least, {mean} on average", least=least, mean=mean))


def _least_force(p: Prediction, say: Wording, spread: Estimates) -> Row:
    return Row(
        say("containment force, least"),
        _value(say, p, "containment_min_n", "force", spread),
        note=say(
            "over any {height} by {length} of the sides",
            height=say.amount(p.containment_patch_height_m, "small_length"),
            length=say.amount(p.containment_patch_length_m, "small_length"),
        ),
    )


def _later_force(p: Prediction, say: Wording, spread: Estimates) -> Row:
    return Row(
        say("containment force after {time}, least", time=say.amount(p.later_s, "hours")),
        _value(say, p, "containment_later_min_n", "force", spread),
        note=say(
            "at {height} above the deck; over a single point {force}",
            height=say.amount(p.containment_least_height_m, "length"),
            force=say.amount(p.containment_later_point_min_n, "force"),
        ),
    )


def _load_rows(p: Prediction, say: Wording) -> Rows:
    """How far the load gives way."""
    stiffness = p.load_hoop_stiffness_n
    if stiffness is None:
        yield Row(say("load"), say("taken as rigid; nobody measured how far film presses it in"))
        return
    yield Row(
        say("load"),
        say(
            "gives way by 1 % of its girth under {force} of hoop force; {left} is left in its"
            " first layer",
            force=say.amount(0.01 * stiffness, "force"),
            left=say.amount(max(p.first_layer_force_n, 0.0), "force"),
        ),
    )


def _cycle(p: Prediction, say: Wording, spread: Estimates) -> Row:
    return Row(say("cycle time"), _value(say, p, "cycle_time_s", "time", spread))


def film_rows(p: Prediction, say: Wording, spread: Estimates = NO_SPREAD) -> Rows:
    """Film per load and year, stretch, width, speed."""
    yield _film(p, say, spread)
    yield Row(say("film length per load"), _value(say, p, "film_length_m", "film_length", spread))
    yearly = ""
    if p.film_cost_per_year is not None:
        yearly = f", {say.money(p.film_cost_per_year, p.currency)}"
    mass = _value(say, p, "film_mass_per_year_kg", "mass", spread)
    yield Row(say("film per year"), mass + yearly)
    yield Row(say("pre-stretch set"), say.amount(p.prestretch_set, "elongation"))
    yield Row(
        say("pre-stretch delivered"),
        _value(say, p, "prestretch_delivered", "elongation", spread),
    )
    yield Row(say("stretch on the load"), _value(say, p, "stretch_on_load", "elongation", spread))
    yield Row(
        say("film width on the load"),
        _value(say, p, "film_width_on_load_m", "small_length", spread),
    )
    yield Row(
        say("neck-down"),
        _value(say, p, "neck_down_m", "small_length", spread),
        note=""
        if p.width_is_measured
        else say(
            "each edge loses {loss} of the gap and of {arc} of the slow roller, where film is"
            " drawn already",
            loss=say.fixed(p.width_loss, 2),
            arc=say.amount(p.slip_arc_m, "small_length"),
        ),
    )
    yield Row(
        say("film speed round a turn"),
        say(
            "{low} to {high}, mean {mean}",
            low=say.amount(p.film_speed_min_m_per_s, "speed"),
            high=say.amount(p.film_speed_max_m_per_s, "speed"),
            mean=say.amount(p.film_speed_mean_m_per_s, "speed"),
        ),
    )


def hold_rows(p: Prediction, say: Wording, spread: Estimates = NO_SPREAD) -> Rows:
    """Turns and their overlap, layers, containment, corner force, pull plate, pallet."""
    width = p.film_width_on_load_m
    yield Row(say("turns"), _number(say, p, "turns", 1, spread))
    yield Row(say("rise per turn"), say.amount(p.rise_per_turn_m, "small_length"))
    if p.fall_per_turn_m is not None:
        yield Row(say("fall per turn"), say.amount(p.fall_per_turn_m, "small_length"))
    up = overlap_text(p.overlap_up, width, say)
    if p.overlap_down is None:
        yield Row(say("overlap"), say("up {up}", up=up))
    else:
        down = overlap_text(p.overlap_down, width, say)
        yield Row(say("overlap"), say("up {up}, down {down}", up=up, down=down))
    yield _layers(p, say)
    yield _least_force(p, say, spread)
    yield _later_force(p, say, spread)
    yield from _load_rows(p, say)
    yield Row(
        say("hoop tension, most"), say.amount(p.hoop_tension_max_n_per_m, "tension_per_width")
    )
    if p.corner_force_max_n_per_m is not None:
        yield Row(
            say("force on a corner, most"),
            say.amount(p.corner_force_max_n_per_m, "tension_per_width"),
        )
    if p.pull_plate_reading_n is not None:
        yield Row(
            say("pull-plate reading to expect"),
            say(
                "{force} at {height} (a check of quality, no predictor of transit survival)",
                force=_value(say, p, "pull_plate_reading_n", "force", spread),
                height=say.amount(p.pull_plate_height_m, "length"),
            ),
        )
    if p.film_below_deck_m:
        layers = say.number(p.pallet_lock_layers_min, 2)
        yield Row(
            say("film on the pallet"),
            say(
                "{depth} below the deck, {layers}, {force}",
                depth=say.amount(p.film_below_deck_m, "small_length"),
                layers=say("1 layer") if layers == "1" else say("{layers} layers", layers=layers),
                force=say.amount(p.pallet_lock_force_n, "force"),
            ),
        )
    if p.overhang_m is not None:
        yield Row(say("overhang over the pallet"), say.amount(p.overhang_m, "small_length"))


def overlap_text(overlap: float, film_width: float, say: Wording) -> str:
    """Overlap as a share of the film's width, or the bare strip where there is none."""
    if overlap >= 0.0:
        return say.amount(overlap, "fraction")
    return say(
        "none, {strip} bare between turns", strip=say.amount(-overlap * film_width, "small_length")
    )


def time_rows(p: Prediction, say: Wording, spread: Estimates = NO_SPREAD) -> Rows:
    """Cycle time and what it is made of."""
    yield _cycle(p, say, spread)
    yield Row(say("turning at full speed"), say.amount(p.wrapping_time_s, "time"))
    yield Row(say("speeding up, slowing down"), say.amount(p.ramp_time_s, "time"))
    if p.pause_time_s:
        yield Row(say("pauses"), say.amount(p.pause_time_s, "time"))
    yield Row(say("load and film handling"), say.amount(p.end_time_s, "time"))


def roll_rows(case: Case, p: Prediction, say: Wording, spread: Estimates = NO_SPREAD) -> Rows:
    """Life of a roll and what changing it takes."""
    yield Row(say("loads per roll"), _number(say, p, "loads_per_roll", 0, spread))
    yield Row(
        say("roll changes"),
        say(
            "{shift} a shift, {year} a year (at {loads} loads a shift, {shifts} shifts)",
            shift=say.fixed(p.roll_changes_per_shift, 1),
            year=say.fixed(p.roll_changes_per_year, 0),
            loads=say.number(case.plant.loads_per_shift),
            shifts=say.number(case.plant.shifts_per_year),
        ),
    )
    lacing = say(
        "{minutes} min a shift, {hours} h a year",
        minutes=say.fixed(p.rethread_time_per_shift_s / 60.0, 0),
        hours=say.fixed(p.rethread_time_per_year_s / 3600.0, 0),
    )
    if p.rethread_cost_per_year is not None:
        money = say.money(p.rethread_cost_per_year, p.currency)
        lacing = say("{lacing}, {money} a year", lacing=lacing, money=money)
    yield Row(say("lacing new rolls"), lacing)


def _width_first(p: Prediction, say: Wording, spread: Estimates) -> Iterator[Block]:
    """What must be known of the film's width before any number of it is read."""
    if not p.width_is_measured and "film_width_on_load_m" not in spread:
        yield Paragraph(
            say(
                "Nobody measured this film's width on a load: it follows from a law of neck-down"
                " that may be far off, mostly to the narrow side, and turns and film with it. The"
                " numbers here are best guesses; the report and --ranges say how far they may be"
                " off. Measure one width (carriage.film_width_on_load); it settles what the law"
                " leaves open."
            )
        )
    elif not p.width_is_measured:
        yield Paragraph(
            say(
                "Nobody measured this film's width on a load: it follows from a law of neck-down"
                " that may be off by as much as the ranges say. Measure one width (carriage."
                "film_width_on_load); it settles what the law leaves open."
            )
        )


def film_and_hold_blocks(
    p: Prediction, say: Wording, brief: Wording | None = None, spread: Estimates = NO_SPREAD
) -> list[Block]:
    """Film, turns, cover and hold.

    Args:
        p: the prediction.
        say: words and numbers.
        brief: the same for tables, which may have less room.
        spread: intervals, where they are known.
    """
    return [
        *_width_first(p, say, spread),
        Facts(say("Film"), tuple(film_rows(p, say, spread))),
        Table(say("Turns"), part_columns(say), part_rows(p, brief or say)),
        Facts(say("Cover and hold"), tuple(hold_rows(p, say, spread))),
    ]


def prediction_blocks(p: Prediction, say: Wording, brief: Wording) -> list[Block]:
    """All that a prediction says without its case.

    Args:
        p: the prediction.
        say: words and numbers.
        brief: the same for tables, which may have less room.
    """
    return [
        *film_and_hold_blocks(p, say, brief),
        Table(say("Over the height"), height_columns(p, say), height_rows(p, brief)),
        Facts(say("Time"), tuple(time_rows(p, say))),
    ]


def time_and_roll_blocks(
    case: Case,
    p: Prediction,
    say: Wording,
    brief: Wording | None = None,
    spread: Estimates = NO_SPREAD,
) -> list[Block]:
    """Layers and force over the height, the cycle's time, and rolls.

    Args:
        case: the case.
        p: its prediction.
        say: words and numbers.
        brief: the same for tables, which may have less room.
        spread: intervals, where they are known.
    """
    return [
        Table(say("Over the height"), height_columns(p, say), height_rows(p, brief or say)),
        Facts(say("Time"), tuple(time_rows(p, say, spread))),
        Facts(say("Rolls"), tuple(roll_rows(case, p, say, spread))),
    ]

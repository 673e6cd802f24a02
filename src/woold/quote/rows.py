"""A quote in blocks: the answer first, then what would narrow it and what it rests on."""

from __future__ import annotations

from collections.abc import Iterator

from woold.prediction.result import RestsOn
from woold.prediction.yearly import Estimate
from woold.quote.document import QuoteDocument
from woold.rows.blocks import Block, Bullets, Cautions, Facts, Paragraph, Row, Table
from woold.rows.wording import Wording
from woold.words import to_say

__all__ = ["answer_blocks", "assumed_sentence", "assumed_table", "cautions", "quote_blocks"]


def quote_blocks(found: QuoteDocument, say: Wording) -> list[Block]:
    """A quote.

    Args:
        found: what may be expected.
        say: words and numbers.
    """
    return [*answer_blocks(found, say), assumed_table(found, say), cautions(found, say)]


def answer_blocks(found: QuoteDocument, say: Wording) -> Iterator[Block]:
    """What a customer reads: the answer, what it rests on and what would narrow it.

    Args:
        found: what may be expected.
        say: words and numbers.
    """
    yield Paragraph(_answer(found, say), is_strong=True)
    yield Paragraph(_basis(found, say))
    if found.findings:
        yield Bullets(tuple(say.sentence(each.message) for each in found.findings))
    yield Table(
        say("One in twenty saves less than cautious, half save more than likely"),
        (say("saved"), say("cautious"), say("likely"), say("good")),
        tuple(_saved(found, say)),
    )
    yield Facts(say("Today"), tuple(_today(found, say)))
    yield Table(
        say("What measuring would narrow, the range of the saving in points"),
        (say("measure"), say("takes"), say("loads"), say("range now"), say("then")),
        tuple(
            (
                each.what,
                each.effort,
                str(each.loads),
                say.fixed(100.0 * each.width_now, 1),
                say.fixed(100.0 * each.width_then, 1),
            )
            for each in found.narrowing
        ),
        words=(0, 1),
    )


def assumed_table(found: QuoteDocument, say: Wording) -> Table:
    """What nobody measured, with its ranges and where it is from."""
    return Table(
        say("Taken for what nobody measured here (placeholders)"),
        (say("what"), say("value"), say("may lie in"), say("where it is from")),
        tuple(
            (
                plain_name(each.field, say),
                say.amount(each.value, each.kind),
                _range(each, say),
                each.origin,
            )
            for each in found.rests_on
        ),
        words=(0, 3),
        is_small=True,
    )


def assumed_sentence(found: QuoteDocument, say: Wording) -> Paragraph:
    """The same in one paragraph, where there is no room for a table."""
    named = [
        say(
            "{name} {range}",
            name=plain_name(each.field, say),
            range=_range(each, say) or say.amount(each.value, each.kind),
        )
        for each in found.rests_on
    ]
    return Paragraph(
        say("Taken for what nobody measured here (placeholders): {named}.", named="; ".join(named))
    )


def _range(each: RestsOn, say: Wording) -> str:
    if each.low is None or each.high is None:
        return ""
    return say.span(each.low, each.high, each.kind)


def plain_name(field: str, say: Wording) -> str:
    """What an input is called for those who do not write case files."""
    return say(_NAMES[field])


_NAMES = {
    "film_per_load": to_say("error of the film weighed (1 sigma)"),
    "rolls_per_week": to_say("error of the film reckoned from rolls (1 sigma)"),
    "roll_mass": to_say("film on a roll"),
    "film_mass": to_say("error of physics on a load's film (1 sigma)"),
    "carriage": to_say("share of braked rolls"),
    "physics": to_say("chance that physics is off altogether"),
    "physics_off": to_say("error of physics alike for all sites (1 sigma)"),
    "sites": to_say("spread of sites beside physics, before they tell"),
    "program.overlap": to_say("overlap of the turns"),
    "program.bottom_wraps": to_say("bottom wraps"),
    "program.top_wraps": to_say("top wraps"),
    "program.force_to_load": to_say("force to load"),
    "film.thickness": to_say("film thickness"),
    "film.yield_stress": to_say("yield stress of the film"),
    "film.hardening_modulus": to_say("hardening of the film"),
    "film.extensibility": to_say("extensibility of the film"),
    "film.elastic_modulus": to_say("elastic modulus of the film"),
    "film.reload_modulus": to_say("modulus of stretched film"),
    "film.density": to_say("density of the film"),
    "film.neck_down_error": to_say("error of the law of neck-down (its uncertainties)"),
    "carriage.contact_angle_slow": to_say("contact angle of the slow roller"),
    "carriage.contact_angle_fast": to_say("contact angle of the fast roller"),
    "carriage.friction": to_say("friction of film on rollers"),
    "carriage.unwind_tension": to_say("tension of the film off the roll"),
    "carriage.slow_roller_diameter": to_say("diameter of the slow roller"),
    "carriage.prestretch": to_say("pre-stretch"),
    "carriage.gap": to_say("gap"),
    "carriage.nip_force_slow": to_say("nip on the slow roller"),
    "carriage.nip_force_fast": to_say("nip on the fast roller"),
    "carriage.film_width_on_load": to_say("film width on the load"),
    "carriage.neck_down": to_say("loss of film width"),
}


def cautions(found: QuoteDocument, say: Wording) -> Cautions:
    """What to take care of."""
    return Cautions(say("Take care"), tuple(say.sentence(say(each)) for each in found.cautions))


def _answer(found: QuoteDocument, say: Wording) -> str:
    each = found.saving
    decimals = _decimals(each)
    ends = {"low": say.percent(each.low, decimals), "high": say.percent(each.high, decimals)}
    if each.value <= 0.0:
        return say("Most likely nothing is saved: {low} to {high} of the film.", **ends)
    ends["likely"] = say.percent(each.value, decimals)
    if each.low <= 0.0:
        return say(
            "Likely {likely} of the film saved; with caution nothing ({low}), at best {high}.",
            **ends,
        )
    return say("Likely {likely} of the film saved; with caution {low}, at best {high}.", **ends)


def _decimals(each: Estimate) -> int:
    """One where the range is narrow."""
    return int(each.high - each.low < _NARROW)


_NARROW = 0.2


def _basis(found: QuoteDocument, say: Wording) -> str:
    has_film = found.facts.film_per_load is not None or found.facts.rolls_per_week is not None
    if found.by_sites is None and not has_film:
        return say("It rests on physics alone; no trial of a carriage is behind it.")
    if found.by_sites is None:
        return say(
            "It rests on physics and on the film that you use today; no trial of a carriage is"
            " behind it."
        )
    each = found.by_sites
    decimals = _decimals(each)
    ends = {"low": say.percent(each.low, decimals), "high": say.percent(each.high, decimals)}
    if not has_film:
        return say(
            "It rests on sites that were tried ({sites}) and on physics. It holds for you as far as"
            " your loads, machine and film are like theirs.",
            sites=found.sites,
        )
    if found.sites == 1:
        return say(
            "It rests on one site that was tried, on physics and on the film that you use today."
            " Without your film the site and physics say {low} to {high}.",
            **ends,
        )
    return say(
        "It rests on {sites} sites that were tried, on physics and on the film that you use today."
        " Without your film the sites and physics say {low} to {high}. It holds for you as far as"
        " your loads, machine and film are like theirs.",
        sites=found.sites,
        **ends,
    )


def _saved(found: QuoteDocument, say: Wording) -> Iterator[tuple[str, ...]]:
    def three(of: Estimate) -> tuple[float, float, float]:
        return of.low, of.value, of.high

    yield (
        say("of the film"),
        *(say.percent(each) for each in three(found.saving)),
    )
    yield (
        say("film a year"),
        *(say.amount(each, "mass", 2) for each in three(found.saved_per_year_kg)),
    )
    if found.saved_money is not None:
        yield (
            say("money a year"),
            *(
                f"{say.fixed(_rounded(each), 0)} {found.currency}"
                for each in three(found.saved_money)
            ),
        )
    if found.payback_years is not None:
        times = found.payback_years
        yield (
            say("payback of the carriage"),
            *(_years(each, say) for each in (times.cautious, times.likely, times.good)),
        )


def _rounded(amount: float) -> float:
    """Two digits: more would claim a sharpness that is not there."""
    return float(f"{amount:.2g}")


def _years(time: float | None, say: Wording) -> str:
    if time is None or time > _NEVER:
        return say("never")
    if time < 1.0:
        return say("{months} months", months=say.number(12.0 * time, 2))
    years = say.number(time, 2)
    return say("1 year") if years == "1" else say("{years} years", years=years)


_NEVER = 100.0
_KINDS = {
    "unknown": to_say("not known"),
    "rollers": to_say("two rollers stretch the film"),
    "brake": to_say("the roll is braked"),
}


def _today(found: QuoteDocument, say: Wording) -> Iterator[Row]:
    facts = found.facts
    yield Row(
        say("Film"),
        say.amount(facts.roll_width, "small_length"),
        say.amount(facts.thickness, "thickness"),
    )
    yield Row(say("Carriage"), say(_KINDS[facts.carriage]))
    if facts.rolls_per_week is not None:
        yield Row(say("Rolls a week"), say.number(facts.rolls_per_week))
    if facts.film_price is not None:
        yield Row(say("Price of the film"), say.price(facts.film_price, "kg"))
    if facts.price is not None:
        yield Row(say("Price of the carriage"), say.money(facts.price.amount, found.currency))
    load, year = found.film_per_load_kg, found.film_per_year_kg
    yield Row(
        say("Film on a load"),
        say.amount(load.value, "small_mass"),
        say.span(load.low, load.high, "small_mass"),
    )
    yield Row(
        say("Film a year"), say.amount(year.value, "mass"), say.span(year.low, year.high, "mass")
    )
    yield Row(say("Chance that nothing is saved"), say.percent(found.chance_of_none, 0))
    alone = found.by_physics
    yield Row(
        say("Physics alone says"),
        say.percent(alone.value, 0),
        say("{low} to {high}", low=say.percent(alone.low, 0), high=say.percent(alone.high, 0)),
    )

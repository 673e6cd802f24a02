"""Spring kits in words: which springs and holes for which film, and what one more brings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from woold.dancer.spring_rows import spring_in_hole
from woold.line.spring_kits import CarriageKit, KitNeed, KitSize, SpringKits
from woold.rows.blocks import Block, Facts, Heading, Paragraph, Row, Table
from woold.rows.wording import Wording

__all__ = ["kit_blocks"]


def kit_blocks(result: SpringKits, say: Wording) -> Iterator[Block]:
    """The kit of each carriage, film by film.

    Args:
        result: the kits.
        say: words and numbers.
    """
    yield Heading(result.title or say("Spring kits of the line"))
    for each in result.kits:
        yield from _carriage(each, say)
    every = (
        say("Each machine has its own spring for a film and force.")
        if result.by_machine
        else say("A film at a force has the same spring and hole on every machine.")
    )
    yield Paragraph(every)
    yield Paragraph(
        say(
            "A spring in a hole serves where it balances the force within the arm's travel, and"
            " where the dancer, simulated at each machine's speed, stays smooth within 15 % of the"
            " force. Tried with up to {count} outlines of load for each machine: those whose"
            " corners move the dancer most. The gain of the drive stays as the carriage has it. An"
            " engineering estimate: try each spring on the machine before it goes on a set-up"
            " sheet.",
            count=result.most_outlines,
        )
    )


def _carriage(kit: CarriageKit, say: Wording) -> Iterator[Block]:
    yield Heading(say("Carriage {name}", name=kit.carriage), 3)
    yield Paragraph(_answer(kit, say), is_strong=True)
    if kit.springs:
        yield Facts(say("The kit"), tuple(_kit_rows(kit, say)))
    served = [each for each in kit.needs if each.spring is not None]
    if served:
        yield _needs_table(served, _machines_of(kit.needs), say)
    left = [each for each in kit.needs if each.spring is None]
    if left:
        yield Table(
            say("Served by no spring and hole that is listed"),
            (say("film"), say("force"), say("machines"), say("why")),
            tuple(
                (
                    each.film,
                    say.amount(each.force_n, "force"),
                    _machines(each, _machines_of(kit.needs), say),
                    say.sentence(each.reason),
                )
                for each in left
            ),
            words=(0, 2, 3),
        )
    if kit.sizes:
        yield _sizes_table(kit, say)
        yield Paragraph(_one_more(kit, say))


def _answer(kit: CarriageKit, say: Wording) -> str:
    if not kit.springs:
        return say(
            "None of the springs serves any film and force of the line ({springs} springs in"
            " {holes} holes looked at).",
            springs=kit.springs_listed,
            holes=kit.holes_listed,
        )
    served = sum(each.spring is not None for each in kit.needs)
    exact = (
        say("No smaller kit of what is listed does.")
        if kit.is_exact
        else say("A smaller kit is not ruled out: the search was stopped.")
    )
    return say(
        "Springs: {springs} of {listed}; holes: {holes} of {all_holes}. They serve {served} of"
        " {needs} films and forces. {exact}",
        springs=len(kit.springs),
        listed=kit.springs_listed,
        holes=len(kit.holes_m),
        all_holes=kit.holes_listed,
        served=served,
        needs=len(kit.needs),
        exact=exact,
    )


def _kit_rows(kit: CarriageKit, say: Wording) -> Iterator[Row]:
    si = Wording("si", say.decimal_comma)
    for each in kit.springs:
        yield Row(
            say("spring"),
            si.amount(each.rate_n_per_m, "stiffness"),
            note=say(
                "number {number} of the carriage's list, {length} free",
                number=each.spring,
                length=si.amount(each.free_length_m, "small_length"),
            ),
        )
    yield Row(say("holes"), ", ".join(si.amount(each, "small_length") for each in kit.holes_m))
    yield Row(say("share of the loads served"), say.percent(kit.share_served))


def _machines_of(needs: Iterable[KitNeed]) -> set[str]:
    return {name for each in needs for name in each.machines}


def _machines(need: KitNeed, every: set[str], say: Wording) -> str:
    return say("all") if set(need.machines) == every else ", ".join(need.machines)


def _needs_table(served: list[KitNeed], every: set[str], say: Wording) -> Table:
    return Table(
        say("For the set-up sheet: spring and hole for each film"),
        (
            say("film"),
            say("force"),
            say("spring in hole"),
            say("balances at (of travel)"),
            say("ripple at most"),
            say("machines"),
        ),
        tuple(
            (
                each.film,
                say.amount(each.force_n, "force"),
                spring_in_hole(each.rate_n_per_m or 0.0, each.hole_m or 0.0, say),
                say.percent(each.travel_share or 0.0, 0),
                say.percent(each.tension_ripple or 0.0),
                _machines(each, every, say),
            )
            for each in served
        ),
        words=(0, 2, 5),
    )


def _sizes_table(kit: CarriageKit, say: Wording) -> Table:
    si = Wording("si", say.decimal_comma)
    return Table(
        say("Kits of other sizes"),
        (
            say("springs at most"),
            say("they are"),
            say("holes"),
            say("loads served"),
            say("mean ripple"),
            say("mean ripple, any hole"),
        ),
        tuple(
            (
                str(each.springs),
                ", ".join(si.amount(rate, "stiffness") for rate in each.rates_n_per_m) or "-",
                str(len(each.holes_m)),
                say.percent(each.share_served),
                say.percent(each.tension_ripple),
                say.percent(each.tension_ripple_any_hole),
            )
            for each in kit.sizes
        ),
        words=(0, 1),
    )


def _one_more(kit: CarriageKit, say: Wording) -> str:
    count = len(kit.springs)
    more = [each for each in kit.sizes if each.springs == count + 1]
    if not more:
        return say("One spring more: every spring that is listed is in the kit already.")
    now, then = next(each for each in kit.sizes if each.springs == count), more[0]
    return _brings(now, then, say)


def _brings(now: KitSize, then: KitSize, say: Wording) -> str:
    parts = []
    if len(then.holes_m) < len(now.holes_m):
        parts.append(
            say(
                "holes: {after} in place of {before}",
                after=len(then.holes_m),
                before=len(now.holes_m),
            )
        )
    for text, before, after in (
        (say("mean ripple"), now.tension_ripple, then.tension_ripple),
        (
            say("mean ripple with any hole"),
            now.tension_ripple_any_hole,
            then.tension_ripple_any_hole,
        ),
    ):
        if after < before - 5e-5:
            parts.append(
                say(
                    "{what}: {after} in place of {before}",
                    what=text,
                    after=say.percent(after),
                    before=say.percent(before),
                )
            )
    if not parts:
        return say("One spring more would bring nothing: neither fewer holes nor less ripple.")
    return say("One spring more would bring: {what}.", what="; ".join(parts))

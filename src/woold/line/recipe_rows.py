"""Recipes in words: what to set for which loads, and what one recipe more or fewer brings."""

from __future__ import annotations

from collections.abc import Iterator

from woold.line.limits import LIMITS
from woold.line.recipe_result import LineRecipes, MachineRecipes, RecipeSheet
from woold.rows.blocks import Block, Facts, Heading, Paragraph, Row, Table
from woold.rows.wording import Wording

__all__ = ["recipe_blocks"]

_MOST_NAMED, _EXAMPLES = 12, 4


def recipe_blocks(result: LineRecipes, say: Wording) -> Iterator[Block]:
    """Recipes machine by machine and film by film.

    Args:
        result: the recipes.
        say: words and numbers.
    """
    yield Heading(result.title or say("Recipes of the line"))
    count = sum(len(each.recipes) for each in result.machines)
    exact = all(each.is_exact for each in result.machines)
    proven = (
        say("With fewer no set of the programs tried does.")
        if exact
        else say("Where it says so below, fewer are not ruled out: the search was stopped.")
    )
    yield Paragraph(
        say(
            "Recipes: {count}, over {machines} machines with a film. They serve every load that"
            " any program tried serves, and cost {loss} more film at most than a program of its own"
            " for each load. {proven}",
            count=count,
            machines=len(result.machines),
            loss=say.percent(result.allowed_loss),
            proven=proven,
        ),
        is_strong=True,
    )
    for each in result.machines:
        yield from _machine(each, say)
    yield Paragraph(
        say(
            "Each recipe was predicted on each of its loads, with the film's larger loss of force:"
            " it holds {margin} more than is asked, or as much as today's recipe where nothing is"
            " asked. Estimates: wrap the hardest load first, and look at its hold before the recipe"
            " goes on a machine.",
            margin=say.percent(result.margin, 0),
        )
    )


def _machine(machine: MachineRecipes, say: Wording) -> Iterator[Block]:
    heading = say(
        "{machine}, {film}, carriage {carriage}",
        machine=machine.machine,
        film=machine.film,
        carriage=machine.carriage,
    )
    yield Heading(heading, 3)
    if machine.recipes:
        yield Table(
            say("To set, by group of loads"),
            (
                say("recipe"),
                _head("force to load", say("force"), machine),
                _head("rise per turn", say("overlap or rise"), machine),
                _head("bottom wraps", say("bottom"), machine),
                _head("top wraps", say("top"), machine),
                say("kinds of load"),
                say("hold, least"),
                say("film over best"),
            ),
            tuple(_sheet_cells(each, say) for each in machine.recipes),
        )
        yield Table(
            say("For which loads"),
            (say("recipe"), say("loads"), say("heights"), say("loads a year"), say("hardest")),
            tuple(_load_cells(each, say) for each in machine.recipes),
            words=(0, 1, 4),
        )
        yield Facts(say("Film in a year"), tuple(_film_rows(machine, say)))
    if machine.counts:
        yield Table(
            say("With other numbers of recipes"),
            (say("recipes at most"), say("film over best")),
            tuple(
                (
                    str(each.recipes),
                    say("cannot serve all") if each.loss is None else say.percent(each.loss, 2),
                )
                for each in machine.counts
            ),
        )
    if machine.unserved:
        yield Paragraph(_unserved(machine, say))


def _head(setting: str, word: str, machine: MachineRecipes) -> str:
    """A setting, with what the panel calls it."""
    for each in machine.panel:
        if each.setting == setting:
            return f"{word} ({each.label})"
    return word


def _sheet_cells(sheet: RecipeSheet, say: Wording) -> tuple[str, ...]:
    pitch = (
        say.percent(sheet.overlap, 0)
        if sheet.overlap is not None
        else say.amount(sheet.rise_per_turn_m or 0.0, "small_length")
    )
    return (
        say("{name} (in use)", name=sheet.recipe) if sheet.is_in_use else sheet.recipe,
        say.amount(sheet.force_n, "force"),
        pitch,
        say.number(sheet.bottom_wraps),
        say.number(sheet.top_wraps),
        str(sheet.loads),
        say.percent(sheet.hold_share, 0),
        say.percent(sheet.loss),
    )


def _load_cells(sheet: RecipeSheet, say: Wording) -> tuple[str, ...]:
    more = sheet.loads - _EXAMPLES
    names = ", ".join(sheet.names[:_EXAMPLES])
    return (
        sheet.recipe,
        say("{names} and {count} more", names=names, count=more) if more > 0 else names,
        say.span(sheet.shortest_m, sheet.tallest_m, "length"),
        say.fixed(sheet.loads_per_year, 0),
        sheet.hardest_load,
    )


def _film_rows(machine: MachineRecipes, say: Wording) -> Iterator[Row]:
    yield Row(
        say("with these recipes"),
        say.amount(machine.film_mass_per_year_kg, "mass"),
        note=say(
            "{share} over a program of its own for each load", share=say.percent(machine.loss)
        ),
    )
    today = machine.film_mass_today_kg
    yield Row(
        say("with today's recipes"),
        say("cannot be compared") if today is None else say.amount(today, "mass"),
        note=say(
            "recipes: {recipes}; kinds of load that do not work by them: {fails}",
            recipes=machine.recipes_today,
            fails=machine.today_fails,
        ),
    )
    if not machine.is_exact:
        yield Row(
            say("fewer recipes"),
            say("not ruled out: {count} or more are needed", count=machine.fewest),
        )


def _unserved(machine: MachineRecipes, say: Wording) -> str:
    limits = {each.limit for each in machine.unserved}
    named = ", ".join(each.load for each in machine.unserved[:_MOST_NAMED])
    return say(
        "Served by no program that was tried: {count} kinds of load, such as {names}. What limits"
        " them: {limits}.",
        count=len(machine.unserved),
        names=named,
        limits="; ".join(say(LIMITS[each]) for each in sorted(limits)),
    )

"""The report of a transport screen: does the wrapped load stand its way, where not, and why."""

from __future__ import annotations

from woold.case.model import Case
from woold.physics import interface_friction, restraint, stack_motion, sudden_start, tipping
from woold.pictures.moved_stack import moved_stack_figure
from woold.pictures.stack_motion import stack_motion_figure
from woold.prediction.input_rows import input_table
from woold.prediction.predict import predict
from woold.report.making import (
    Making,
    closing_blocks,
    finding_blocks,
    finished,
    placeholder_blocks,
)
from woold.report.model import Report
from woold.report.svg import figure_svg
from woold.rows.blocks import Block, Bullets, Figure, Heading, Paragraph
from woold.transport.result import TransportResult
from woold.transport.rows import transport_blocks
from woold.transport.screen import screen_transport
from woold.transport.sensitivity import transport_effects
from woold.transport.simulation import TransportSimulation, simulate_transport
from woold.transport.simulation_rows import simulation_blocks, transport_effect_blocks
from woold.verdict.rows import verdict_answer, verdict_blocks
from woold.verdict.verdict import verdict_of
from woold.words import to_say

__all__ = ["transport_report"]

_METHOD = (
    to_say(
        "Each interface between tiers is judged by the friction that product and film press"
        " on it, under the accelerations that the named rules state for each direction."
    ),
    to_say(
        "Film over an interface holds back what slides there, as a sheared panel that wrinkles;"
        " that law is derived here and an assumption."
    ),
    to_say(
        "The simulation moves the same tiers as stiff bodies over time; the worse of screen and"
        " simulation counts."
    ),
)

_SOURCES: tuple[tuple[str, object], ...] = (
    (to_say("Friction between tiers"), interface_friction.restraint_needed),
    (to_say("What film gives sideways"), restraint.shear_restraint),
    (to_say("Tipping"), tipping.tipping_share),
    (to_say("A sudden start"), sudden_start.sudden_slip),
    (to_say("Tiers in motion"), stack_motion.stack_motion),
)


def transport_report(case: Case, making: Making, with_figures: bool = True) -> Report:
    """The report of a case's way: screen, what decides it, and the same over time.

    Args:
        case: a checked case with a [transport] table.
        making: how the report is made.
        with_figures: draw the stack and its motion.

    Raises:
        WooldError: the case cannot be predicted, or names no rules for its way.
    """
    say = making.say
    prediction = predict(case)
    screen = screen_transport(case, prediction)
    moved = simulate_transport(case, prediction, screen)
    verdict = verdict_of(case, prediction, screen, simulation=moved)
    blocks: list[Block] = [
        *verdict_blocks(verdict, say, say),
        Paragraph(say(screen.caution)),
        *finding_blocks(screen.findings, say),
        Heading(say("On its way, by the rules")),
    ]
    if with_figures:
        blocks.append(_stack_picture(case, screen, making, verdict_answer(verdict, say)))
    blocks += [
        *transport_blocks(screen, say, say),
        *transport_effect_blocks(transport_effects(case, prediction), say, say),
        Heading(say("On its way, over time")),
    ]
    if with_figures and moved.ways:
        blocks.append(_motion_picture(moved, making))
    blocks += [
        *simulation_blocks(moved, say, say),
        *placeholder_blocks(prediction.rests_on, say),
        Heading(say("Method and assumptions")),
        Bullets(tuple(say(each) for each in _METHOD)),
        Heading(say("Appendix: every input")),
        input_table(case, say("Inputs and where they are from"), say),
        *closing_blocks(making, _SOURCES, screen.cautions),
    ]
    return finished("transport", case.title, blocks, making)


def _stack_picture(case: Case, screen: TransportResult, making: Making, answer: str) -> Figure:
    say = making.say
    svg = figure_svg(moved_stack_figure(case, screen, say.units), "stack", say)
    return Figure(
        svg,
        say("The stack as the worst direction leaves it, and the forces at each interface."),
        say(
            "Tiers where they end up, and bars of what each interface needs and has. {answer}"
            " The tables below give the numbers.",
            answer=answer,
        ),
    )


def _motion_picture(moved: TransportSimulation, making: Making) -> Figure:
    say = making.say
    svg = figure_svg(stack_motion_figure(moved, say.units), "motion", say)
    return Figure(
        svg,
        say("How far each tier slips over time, in the worst direction."),
        say("Lines of slip over time for each tier. The table below gives the largest of each."),
    )

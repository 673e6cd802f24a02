"""What a dancer's swing means: a verdict, or what it may be where the trace does not decide it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from woold.physics.alias import FASTEST_BOUNCE, LEAST_RATE, highest_shown
from woold.physics.swing_findings import SwingFinding, SwingThresholds, swing_findings
from woold.physics.trace_analysis import TraceAnalysis
from woold.words import say, to_say

__all__ = ["SwingDoubt", "SwingVerdict", "judge_trace"]

_AT_STOPS = (to_say("hits its stops"), to_say("slack"))
_FASTER_THAN_CORNERS = 0.08  # of all energy; a simulated load's own is 6 % at most
_BESIDE_CORNERS = 0.018  # of all energy; a simulated load's own is rarely as much
_FAST = (to_say("bounces"), to_say("oscillates"))
_NEAR = 0.65  # of a limit, from which on the share's own error may carry it over


@dataclass(frozen=True)
class SwingDoubt:
    """What a swing may be too, and why that is not certain.

    Args:
        code: a verdict's word.
        reason: why it is not certain, and what would make it so.
    """

    code: str
    reason: str


@dataclass(frozen=True)
class SwingVerdict:
    """The verdict on a trace.

    Args:
        word: the gravest finding's word, "smooth", or "uncertain".
        sentence: the verdict in a sentence.
        findings: all findings, the gravest first.
        doubts: what it may be too.
        may_be: words of all that an uncertain verdict leaves open; else of the doubts.
    """

    word: str
    sentence: str
    findings: tuple[SwingFinding, ...]
    doubts: tuple[SwingDoubt, ...] = ()
    may_be: tuple[str, ...] = ()


_SENTENCES = {
    to_say("smooth"): to_say("The dancer swings with the corners and does little else."),
    to_say("hits its stops"): to_say(
        "The dancer runs into its stops: there film is pulled hard or hangs slack."
    ),
    to_say("slack"): to_say(
        "The dancer lies at its upper stop for too long: the film does not hold it."
    ),
    to_say("bounces"): to_say("The dancer rings on after the corners."),
    to_say("oscillates"): to_say("The dancer swings to and fro all the time, whatever the turn."),
    to_say("hunts"): to_say("The dancer wanders between turns: the drive swings by itself."),
    to_say("too wide"): to_say("The dancer swings with the corners but uses up its travel."),
    to_say("hardly moves"): to_say("The dancer hardly moves: it does not do its work."),
    to_say("unsteady"): to_say("Much of the dancer's motion does not come with the corners."),
    to_say("uncertain"): to_say(
        "This recording does not decide it: do not take the dancer for smooth before another"
        " one does."
    ),
}
"""Each verdict with its sentence, both to be said; the verdict's English is its code as well."""


_BLURRED = {"bounces": LEAST_RATE, "oscillates": LEAST_RATE, "hunts": LEAST_RATE / 2}
"""Verdicts that a slower sampling cannot tell from one another [Hz]."""


def judge_trace(
    analysis: TraceAnalysis,
    stops: tuple[float, float] | None = None,
    thresholds: SwingThresholds | None = None,
) -> SwingVerdict:
    """The verdict on a trace.

    Args:
        analysis: the trace, taken apart.
        stops: positions of lower and upper stop if known, unit of the trace.
        thresholds: where a swing stops being smooth.

    Returns:
        The verdict; graver findings first.
    """
    limits = thresholds or SwingThresholds()
    findings = swing_findings(analysis, stops, limits)
    # A fast swing folded back looks like another: what is seen may be either.
    blurred = [code for code, rate in _BLURRED.items() if analysis.rate < rate]
    if analysis.energy.keeps_step:
        blurred.append("bounces")
    if _is_misread(analysis):
        blurred.append("hunts")
    seen = len(findings)
    findings = tuple(each for each in findings if each.code not in blurred)
    is_moved = len(findings) < seen or analysis.energy.high_share > 2 * _FASTER_THAN_CORNERS
    found = {each.code for each in findings}
    doubts = tuple(
        doubt
        for doubt in (() if "hardly moves" in found else _doubts(analysis, stops, limits))
        if doubt.code not in found
    )
    codes = tuple(dict.fromkeys(doubt.code for doubt in doubts))
    if doubts and found == {"unsteady"}:
        # What is unsteady may be what the doubt names.
        may_be = ("unsteady", *codes)
        return SwingVerdict("uncertain", say(_SENTENCES["uncertain"]), findings, doubts, may_be)
    if findings:
        word = findings[0].code
        return SwingVerdict(word, say(_SENTENCES[word]), findings, doubts, codes)
    word = "uncertain" if doubts else "smooth"
    may_be = codes if is_moved or not doubts else ("smooth", *codes)
    return SwingVerdict(word, say(_SENTENCES[word]), findings, doubts, may_be)


def _doubts(
    analysis: TraceAnalysis, stops: tuple[float, float] | None, limits: SwingThresholds
) -> Iterator[SwingDoubt]:
    yield from _turn_doubts(analysis, stops, limits)
    energy, shares = analysis.energy, analysis.energy.swing_shares
    yield from _rate_doubts(analysis, limits)
    yield from _step_doubts(analysis, limits)
    weak = energy.bounce is not None and energy.bounce.damping < limits.bounce_damping
    for part, code, limit in (
        ("ringing", "bounces", limits.bounce_share * (1 if weak else 2)),
        ("oscillation", "oscillates", limits.oscillation_share),
        ("hunting", "hunts", limits.slow_share),
    ):
        if _NEAR * limit < shares[part] <= limit:
            yield SwingDoubt(
                code,
                say(
                    "{share:.1%} of the swing's energy is near the limit of {limit:.1%}: a longer"
                    " recording would tell",
                    share=shares[part],
                    limit=limit,
                ),
            )
    drift = energy.shares["drift"]
    if not energy.slow_is_certain and drift > limits.slow_share:
        yield SwingDoubt(
            "hunts",
            say(
                "{share:.0%} of all energy wanders so slowly that a drift and a hunting look"
                " alike: record two or three times as many turns",
                share=drift,
            ),
        )
    may_ring = ""
    if energy.high_share > _FASTER_THAN_CORNERS:
        may_ring = say(
            "{share:.0%} of all energy comes every turn, is faster than the corners and was"
            " not made out as a ringing: record faster and longer, and at another turning"
            " speed, where a ringing keeps its frequency",
            share=energy.high_share,
        )
    elif energy.beside_share > _BESIDE_CORNERS:
        may_ring = say(
            "{share:.1%} of all energy comes at orders of the turn at which a load's"
            " corners hardly move a dancer, as a ringing little faster than they are does:"
            " record at another turning speed, where a ringing keeps its frequency, or lay"
            " the model over it (--case)",
            share=energy.beside_share,
        )
    if may_ring:
        for code in (to_say("bounces"), to_say("oscillates")):
            yield SwingDoubt(code, may_ring)
    if analysis.contacts is None:
        for code, place in zip(_AT_STOPS, analysis.rests, strict=True):
            if place is not None:
                yield SwingDoubt(
                    code,
                    say(
                        "the arm lies still at one end of its swing again and again: give the stops"
                        " (--stops or --case) and it will be told what that is"
                    ),
                )
    contacts = analysis.contacts
    if contacts is not None and contacts.unsure_spells:
        for code in (to_say("slack"), to_say("hits its stops")):
            yield SwingDoubt(
                code,
                say(
                    "contacts with the upper stop too short for slack film and too long for a"
                    " blow: {spells}",
                    spells=contacts.unsure_spells,
                ),
            )


def _is_misread(analysis: TraceAnalysis) -> bool:
    """Whether what looks slow comes more often than the turn that the trace was read with."""
    turn, hunting = analysis.turn, analysis.energy.hunting
    return not turn.is_certain and hunting is not None and hunting * turn.period > 1.0


def _turn_doubts(
    analysis: TraceAnalysis, stops: tuple[float, float] | None, limits: SwingThresholds
) -> Iterator[SwingDoubt]:
    """What it is if the turn takes longer: then it was counted to the corners."""
    if _is_misread(analysis) and analysis.energy.swing_shares["hunting"] > limits.slow_share:
        for code in (*_FAST, to_say("hunts")):
            yield SwingDoubt(
                code,
                say(
                    "the trace repeats every {repeat:.3g} s but for a wave that is slower: a strong"
                    " ringing may have been taken for the turn: give --speed, a turn pulse or the"
                    " turntable's angle",
                    repeat=analysis.turn.repeat,
                ),
            )
    if analysis.longer is None:
        return
    period, energy = analysis.longer
    turn = replace(analysis.turn, period=period)
    other = judge_trace(replace(analysis, turn=turn, energy=energy, longer=None), stops, limits)
    codes = [*(each.code for each in other.findings), *(each.code for each in other.doubts)]
    for code in dict.fromkeys(each for each in codes if each in _FAST):
        yield SwingDoubt(
            code,
            say(
                "the trace does not tell its turn: if that takes {period:.3g} s, some of what was"
                " counted to the corners is faster than they are: give --speed, a turn pulse or the"
                " turntable's angle",
                period=period,
            ),
        )


def _step_doubts(analysis: TraceAnalysis, limits: SwingThresholds) -> Iterator[SwingDoubt]:
    """An oscillation that happens to keep step with the turn looks like a ringing, and a ringing
    that hardly dies out like an oscillation."""
    steady = analysis.energy.swing_shares["oscillation"]
    if analysis.energy.is_blended and steady > _NEAR * limits.oscillation_share:
        yield SwingDoubt(
            to_say("bounces"),
            say(
                "{share:.0%} of the swing's energy may be a ringing that hardly dies out between"
                " corners as well as a steady oscillation: record at another turning speed",
                share=steady,
            ),
        )
    share = analysis.energy.swing_shares["ringing"]
    if not analysis.energy.keeps_step or share <= limits.bounce_share:
        return
    for code in (to_say("bounces"), to_say("oscillates")):
        yield SwingDoubt(
            code,
            say(
                "{share:.0%} of the swing's energy keeps step with the turn and hardly dies out"
                " between corners: record at another turning speed, where a ringing keeps its"
                " frequency and its start at the corners",
                share=share,
            ),
        )


def _rate_doubts(analysis: TraceAnalysis, limits: SwingThresholds) -> Iterator[SwingDoubt]:
    """What the sampling rate is too low to tell."""
    if analysis.rate >= LEAST_RATE:
        return
    energy, shares = analysis.energy, analysis.energy.swing_shares
    hunts = shares["hunting"] if analysis.rate < _BLURRED["hunts"] else 0.0
    share = shares["ringing"] + shares["oscillation"] + shares["rest"] + energy.high_share + hunts
    # A wave folded back onto an order of the turn is not seen at all.
    if share <= limits.bounce_share and analysis.rate >= _BLURRED["hunts"]:
        return
    codes = [to_say("bounces"), to_say("oscillates")]
    if hunts > limits.slow_share:
        codes.append(to_say("hunts"))
    for code in codes:
        yield SwingDoubt(
            code,
            say(
                "{rate:.3g} samples a second show nothing faster than {highest:.3g} Hz as it is,"
                " and {share:.0%} of the swing's energy is seen not to come with the corners:"
                " record {least:g} a second or more",
                share=share,
                rate=analysis.rate,
                highest=highest_shown(analysis.rate),
                least=2 * FASTEST_BOUNCE,
            ),
        )

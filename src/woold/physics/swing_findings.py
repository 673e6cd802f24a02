"""What is seen in a dancer's swing: each thing with its evidence, and what to try first.

The thresholds are common practice without a source: change them where your machine says otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass

from woold.physics.stop_contacts import StopContacts
from woold.physics.trace_analysis import TraceAnalysis
from woold.words import say

__all__ = ["SwingFinding", "SwingThresholds", "swing_findings"]


@dataclass(frozen=True)
class SwingThresholds:
    """Where a swing stops being smooth. Common practice, no source.

    Args:
        corner_share: least share of the swing's energy that comes with the corners [-].
        bounce_share: largest share of ringing in the swing's energy [-].
        bounce_damping: damping below which a ringing is called weakly damped [-].
        oscillation_share: largest share of a steady oscillation that keeps to no turn [-].
        slow_share: largest share of slow motion that does not repeat from turn to turn [-].
        stop_hits_per_turn: largest number of stop hits [-].
        slack_share: largest share of the time at the upper stop [-].
        travel_share: largest share of the travel that a smooth swing takes [-].
        least_travel_share: share of the travel below which the dancer hardly moves [-].
    """

    corner_share: float = 0.8
    bounce_share: float = 0.05
    bounce_damping: float = 0.1
    oscillation_share: float = 0.05
    slow_share: float = 0.1
    stop_hits_per_turn: float = 0.1
    slack_share: float = 0.02
    travel_share: float = 0.8
    least_travel_share: float = 0.02


@dataclass(frozen=True)
class SwingFinding:
    """One thing seen in the swing.

    Args:
        code: short word for it.
        evidence: the numbers it rests on.
        try_first: what to change first, and what to look for after that.
    """

    code: str
    evidence: str
    try_first: str


def swing_findings(
    analysis: TraceAnalysis, stops: tuple[float, float] | None, limits: SwingThresholds
) -> tuple[SwingFinding, ...]:
    """All that is wrong with a swing.

    Args:
        analysis: the trace, taken apart.
        stops: positions of lower and upper stop if known, unit of the trace.
        limits: where a swing stops being smooth.

    Returns:
        Findings, the gravest first; none for a smooth swing.
    """
    travel = stops[1] - stops[0] if stops is not None else None
    swing_share = analysis.swing_peak_to_peak / travel if travel else None
    if swing_share is not None and swing_share < limits.least_travel_share:
        # Shares of the energy of nothing say nothing.
        return (_still(swing_share, limits),)
    findings = [
        *_stop_findings(analysis, limits),
        *_bounce_findings(analysis, limits),
        *_oscillation_findings(analysis, limits),
        *_slow_findings(analysis, limits),
        *_travel_findings(swing_share, limits),
    ]
    return tuple(findings or _corner_findings(analysis, limits))


def _still(swing_share: float, limits: SwingThresholds) -> SwingFinding:
    return SwingFinding(
        "hardly moves",
        say(
            "a turn swings it through {share:.1%} of its travel (limit {limit:.1%})",
            share=swing_share,
            limit=limits.least_travel_share,
        ),
        say(
            "See that the film is laced over the dancer and the arm turns freely by hand;"
            " then try the next weaker spring or the hole nearer to the pivot."
        ),
    )


def _slow_findings(analysis: TraceAnalysis, limits: SwingThresholds) -> list[SwingFinding]:
    share = analysis.energy.swing_shares["hunting"]
    if share <= limits.slow_share:
        return []
    return [
        SwingFinding(
            "hunts",
            say(
                "{share:.0%} of the swing's energy is slow and does not repeat from turn to turn"
                " (limit {limit:.0%})",
                share=share,
                limit=limits.slow_share,
            ),
            say(
                "Lower the drive's integral gain, then its gain, by a third at a time; if"
                " the film's pull itself wanders, look at the roll's brake and its"
                " roundness."
            ),
        )
    ]


def _travel_findings(swing_share: float | None, limits: SwingThresholds) -> list[SwingFinding]:
    if swing_share is None or swing_share <= limits.travel_share:
        return []
    return [
        SwingFinding(
            "too wide",
            say(
                "a turn swings it through {share:.0%} of its travel (limit {limit:.0%})",
                share=swing_share,
                limit=limits.travel_share,
            ),
            say(
                "Raise the drive's gain or feed-forward so that the drive takes more of"
                " the corners; then try the next stronger spring, and a lower turning"
                " speed last."
            ),
        )
    ]


def _corner_findings(analysis: TraceAnalysis, limits: SwingThresholds) -> list[SwingFinding]:
    share = analysis.energy.swing_shares["corners"]
    if share >= limits.corner_share:
        return []
    return [
        SwingFinding(
            "unsteady",
            say(
                "{share:.0%} of the swing's energy comes with the corners (limit {limit:.0%})",
                share=share,
                limit=limits.corner_share,
            ),
            say(
                "Look at the average turn: flat places with jumps between them speak for a"
                " sticking pivot or film that slips on a roller."
            ),
        )
    ]


def _stop_findings(analysis: TraceAnalysis, limits: SwingThresholds) -> list[SwingFinding]:
    contacts = analysis.contacts
    if contacts is None:
        return []
    turns = max(analysis.working_time / analysis.turn.period, 1e-9)
    allowed = limits.stop_hits_per_turn
    findings = []
    if contacts.lower_hits / turns > allowed:
        findings.append(
            SwingFinding(
                "hits its stops",
                say(
                    "hits of the lower stop in {turns:.1f} turns: {hits} (limit {limit:g} a"
                    " turn); the load takes film faster than the drive gives it",
                    hits=contacts.lower_hits,
                    turns=turns,
                    limit=allowed,
                ),
                say(
                    "Raise the drive's gain or feed-forward and see that its speed limit lies"
                    " above the fastest film demand; then try the next stronger spring."
                ),
            )
        )
    if contacts.upper_hits / turns > allowed:
        findings.append(
            SwingFinding(
                "hits its stops",
                say(
                    "hits of the upper stop in {turns:.1f} turns: {hits} (limit {limit:g} a"
                    " turn); the drive gives film faster than the load takes it",
                    hits=contacts.upper_hits,
                    turns=turns,
                    limit=allowed,
                ),
                say(
                    "Lower the feed-forward, or raise the drive's acceleration limit so that"
                    " it slows down in time; then try the next weaker spring."
                ),
            )
        )
    slack = _slack_findings(contacts, analysis.working_time, limits)
    return slack + findings if contacts.slack_spells > contacts.lower_hits else findings + slack


def _slack_findings(
    contacts: StopContacts, working_time: float, limits: SwingThresholds
) -> list[SwingFinding]:
    share = contacts.slack_time / max(working_time, 1e-9)
    if share <= limits.slack_share:
        return []
    return [
        SwingFinding(
            "slack",
            say(
                "{share:.1%} of the time at the upper stop (limit {limit:.1%}), spells: {spells}",
                share=share,
                limit=limits.slack_share,
                spells=contacts.slack_spells,
            ),
            say("Lower the feed-forward or the set angle, so that the arm works in mid travel."),
        )
    ]


def _oscillation_findings(analysis: TraceAnalysis, limits: SwingThresholds) -> list[SwingFinding]:
    share = analysis.energy.swing_shares["oscillation"]
    frequency = analysis.energy.oscillation
    if frequency is None or share <= limits.oscillation_share:
        return []
    return [
        SwingFinding(
            "oscillates",
            say(
                "{share:.1%} of the swing's energy swings at {frequency:.2f} Hz ({order:.1f} times"
                " a turn), keeps to no turn and does not die out (limit {limit:.0%})",
                share=share,
                frequency=frequency,
                order=frequency * analysis.turn.period,
                limit=limits.oscillation_share,
            ),
            say(
                "Lower the drive's gain by a third and record again: a drive that feeds the swing"
                " lets go of it; if it stays, look for a roller out of round that turns as often."
            ),
        )
    ]


def _bounce_findings(analysis: TraceAnalysis, limits: SwingThresholds) -> list[SwingFinding]:
    bounce = analysis.bounce
    if bounce is None:
        return []
    weak = bounce.damping < limits.bounce_damping
    share = analysis.energy.swing_shares["ringing"]
    if share <= limits.bounce_share * (1 if weak else 2):
        return []
    return [
        SwingFinding(
            "bounces",
            say(
                "{share:.1%} of the swing's energy rings at {frequency:.2f} ±"
                " {frequency_error:.2f} Hz ({order:.1f} times a turn), damping ratio"
                " {damping:.3f} ± {damping_error:.3f} (limits {limit:.0%} and {damping_limit:g})",
                share=share,
                frequency=bounce.frequency,
                frequency_error=bounce.frequency_error,
                order=bounce.frequency * analysis.turn.period,
                damping=bounce.damping,
                damping_error=bounce.damping_error,
                limit=limits.bounce_share,
                damping_limit=limits.bounce_damping,
            ),
            say(
                "Lower the drive's gain by a third and record again: if the frequency falls,"
                " the drive takes part; if it stays, arm and film ring by themselves: add"
                " damping at the pivot or lighten the arm, or turn more slowly."
            ),
        )
    ]

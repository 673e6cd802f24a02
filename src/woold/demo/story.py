"""The demo's story in twelve steps: a claim about film is predicted, tried out and watched."""

from __future__ import annotations

from woold.demo.scenario import IN_STORE, STORE, TRIAL, Step
from woold.words import to_say

__all__ = ["STORY", "TO_OPEN", "story_cautions"]

STORY: tuple[Step, ...] = (
    Step(
        to_say("Line 1 wraps 80,000 pallets a year. What does one take today, and does it hold?"),
        ("predict", "today.toml", "--plot", "today-load.svg"),
    ),
    Step(
        to_say("Somebody claims that another film carriage uses less film. Can it, and why?"),
        ("carriage", "compare", "today.toml", "candidate.toml", "--plot", "carriages.svg"),
    ),
    Step(
        to_say("What would better settings do, without a new carriage?"),
        ("design", "today.toml", "--plot", "front.svg"),
    ),
    Step(
        to_say("The dancer has to keep the film's pull even: which spring, and in which hole?"),
        ("dancer", "springs", "today.toml", "--plot", "springs.svg"),
    ),
    Step(
        to_say("The operator gets one page: what to set, and what to check on the first loads."),
        (
            *("report", "sheet", "today.toml"),
            *("--out", "operator-sheet.html", "--out", "operator-sheet.pdf"),
        ),
    ),
    Step(
        to_say("Now the claim is put to the test. How many loads does a fair trial need?"),
        ("trial", "plan", "trial.toml", "--start", *IN_STORE),
    ),
    Step(
        to_say("The technician gets a workbook, or a form with a large page for each load."),
        ("trial", "sheet", TRIAL, "--out", "sheet.xlsx", "--form", "form.pdf", *STORE),
    ),
    Step(
        to_say("Days later the filled sheet comes back: all of it is taken, or nothing."),
        ("trial", "import", "filled.xlsx", *IN_STORE),
    ),
    Step(
        to_say("What does the trial say?"),
        ("trial", "analyse", TRIAL, "--plot", "result.svg", *STORE),
    ),
    Step(
        to_say("The result on paper, with everything that it rests on."),
        (
            *("report", "trial", TRIAL, *STORE),
            *("--out", "trial-report.html", "--out", "trial-report.pdf"),
        ),
    ),
    Step(
        to_say("Ten sites have tried it. May the claim be made?"),
        (
            *("sites", "pool", "sites.csv", "--claim", "5 % on average, up to 15 %"),
            *("--plot", "ten-sites.svg"),
        ),
        exit_status=1,
    ),
    Step(
        to_say("A year on: does the saving stay? Cycle records of two machines say where not."),
        ("watch", "loads", "cycles.csv", "--settings", "watch.toml", "--page", "line.html"),
        exit_status=1,
    ),
)
"""What a new reader sees; every command has its step in `woold.demo.scenario`."""

TO_OPEN: tuple[tuple[str, str], ...] = (
    ("trial-report.pdf", to_say("the report of the trial; trial-report.html says the same")),
    ("operator-sheet.pdf", to_say("the page for the operator")),
    ("form.pdf", to_say("the form that a trial is written down on")),
    ("sheet.xlsx", to_say("the same as a workbook")),
    ("line.html", to_say("the charts of both machines")),
    ("carriages.svg", to_say("both carriages, and where the film is saved")),
)
"""What to look at first, and what it is."""


def story_cautions() -> tuple[str, ...]:
    """What any step of the story asks to take care of, each once."""
    from woold.dancer.results import DANCER_CAUTIONS
    from woold.physics.transport import CAUTION
    from woold.sites.claim_words import HOLD_CAUTION
    from woold.watch.rows import WATCH_CAUTIONS

    return tuple(dict.fromkeys((*WATCH_CAUTIONS, *DANCER_CAUTIONS, HOLD_CAUTION, CAUTION)))

"""Every command of the terminal with the page where the same is done, or why there is none."""

from __future__ import annotations

from woold.words import to_say

__all__ = ["COMMAND_PAGES", "NO_PAGE"]

COMMAND_PAGES: dict[str, tuple[str, str]] = {
    "account list": ("/people", to_say("Who may sign in")),
    "account remove": ("/people", to_say("Who may sign in")),
    "account role": ("/people", to_say("Who may sign in")),
    "account set": ("/people", to_say("Who may sign in")),
    "carriage compare": ("/carriage", to_say("What the candidate saves")),
    "carriage match": ("/films", to_say("Films of the shelf on this carriage")),
    "carriage show": ("/carriage", to_say("Base: the bench's carriage")),
    "case check": ("/", to_say("Inputs")),
    "case new": ("/start", to_say("Start with my load")),
    "dancer simulate": ("/dancer", to_say("In motion")),
    "dancer springs": ("/dancer", to_say("Springs and holes")),
    "dancer tags": ("/dancer", to_say("Tags to print (A4)")),
    "dancer trace": ("/dancer", to_say("Recorded trace")),
    "dancer tune": ("/dancer", to_say("Tune it")),
    "dancer video": ("/dancer", to_say("Film made with a phone")),
    "design": ("/design", to_say("Search")),
    "film fit": ("/films", to_say("Curve from a tensile test")),
    "learn": ("/learning", to_say("What was learnt")),
    "line carriage": ("/line", to_say("One carriage for the whole line")),
    "line cell": ("/line", to_say("Put this case on the bench")),
    "line check": ("/line", to_say("What it holds")),
    "line kits": ("/line", to_say("The fewest springs and holes")),
    "line map": ("/line", to_say("What works where")),
    "line new": ("/line", to_say("Download a file to start from")),
    "line recipes": ("/line", to_say("The fewest recipes")),
    "line new-release": ("/line-release", to_say("Download a file to start from")),
    "line release": ("/line-release", to_say("Make the plan")),
    "line wear": ("/line", to_say("Parts, rolls and wear with one carriage")),
    "predict": ("/", to_say("What to measure first")),
    "quote": ("/quote", to_say("What another carriage may save")),
    "report carriages": ("/reports", to_say("Two carriages on this load")),
    "report design": ("/reports", to_say("The latest search on the design page")),
    "report line": ("/line", to_say("Download PDF")),
    "report line-plan": ("/line", to_say("Download PDF")),
    "report prediction": ("/reports", to_say("What the load takes and holds")),
    "report sheet": ("/reports", to_say("Set-up sheet for the operator, one page")),
    "report transport": ("/reports", to_say("The load on its way")),
    "report trial": ("/trials/{key}/report", to_say("Download as PDF")),
    "shelf check": ("/shelf", to_say("Open a shelf's file")),
    "shelf keep": ("/shelf", to_say("Put there")),
    "shelf new": ("/shelf", to_say("Put there")),
    "shelf show": ("/shelf", to_say("What is kept")),
    "shelf since": ("/", to_say("From the shelf")),
    "shelf write": ("/shelf", to_say("Download the shelf")),
    "sites pool": ("/sites", to_say("Many sites, one claim")),
    "store check": ("/people", to_say("See whether it is sound")),
    "transport": ("/", to_say("On its way")),
    "trial analyse": ("/trials/{key}", to_say("So far")),
    "trial calibrate": ("/trials/{key}", to_say("Calibration")),
    "trial correct": ("/trials/{key}", to_say("Correct a record")),
    "trial export": ("/trials/{key}", to_say("All records (.zip)")),
    "trial gauge": ("/trials/{key}", to_say("Gauge study")),
    "trial import": ("/trials/{key}", to_say("Take in a filled worksheet")),
    "trial list": ("/trials", to_say("All trials")),
    "trial new": ("/trial-plan", to_say("Plan a trial")),
    "trial photo": ("/trials/{key}/form", to_say("Photos")),
    "trial plan": ("/trial-plan", to_say("Plan a trial")),
    "trial sheet": ("/trials/{key}", to_say("Worksheet and printed form")),
    "watch fleet": ("/watch", to_say("Overview of the fleet")),
    "watch loads": ("/watch", to_say("Watch the machines")),
}
"""By command: address of the page, and the heading or button there."""

_SERVER = to_say("It is done where the server runs, by whoever runs it.")

NO_PAGE: dict[str, str] = {
    "demo": to_say("The pages show the same invented example from the start."),
    "serve": to_say("It is what serves the pages."),
    "store backup": _SERVER,
    "store restore": _SERVER,
}
"""By command: why it has no page."""

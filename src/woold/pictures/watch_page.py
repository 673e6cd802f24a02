"""The watch as one HTML page that needs nothing else: pictures inside, no address called."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from woold.errors import InputError
from woold.pictures.control_charts import machine_figure
from woold.prediction.result import Finding
from woold.watch.document import WATCH_CAUTIONS
from woold.watch.machine import MachineWatch
from woold.watch.settings import WatchSettings
from woold.watch.wording import (
    alarm_cells,
    film_now,
    headline,
    kept_of_promise,
    method_lines,
    most_urgent,
    saved_to_date,
    step_cells,
    summary_lines,
)
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["watch_page", "write_watch_page"]

MOST_DRAWN = 12
MOST_ROWS = 20


def watch_page(
    machines: Sequence[MachineWatch], settings: WatchSettings, findings: Sequence[Finding]
) -> str:
    """The page's HTML.

    Args:
        machines: watched; the ones with most alarms are drawn.
        settings: that they were watched with.
        findings: about the files.
    """
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("woold.pictures", "."),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
    )
    ordered = most_urgent(machines)
    anchors = {each.machine: f"machine-{index}" for index, each in enumerate(ordered, start=1)}
    drawn = ordered[:MOST_DRAWN]
    first = min(each.times[0] for each in machines).item()
    last = max(each.times[-1] for each in machines).item()
    loads = sum(each.loads for each in machines)
    overview = [
        {
            "machine": each.machine,
            "anchor": anchors[each.machine] if each in drawn else "",
            "loads": f"{each.loads:,}",
            "now": film_now(each),
            "alarms": len(each.alarms),
            "has_alarm": bool(each.alarms),
            "saved": saved_to_date(each, settings),
            "kept": kept_of_promise(each),
            "short": each.savings is not None and each.savings.falls_short,
        }
        for each in ordered
    ]
    return environment.get_template("watch_page.html.j2").render(
        headline=headline(machines),
        subline=f"{loads:,} loads from {first:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M}.",
        overview=overview,
        not_drawn=len(ordered) - len(drawn),
        machines=[_section(each, anchors[each.machine], settings) for each in drawn],
        findings=[
            f"{finding.field}: {finding.message}"
            for finding in (*findings, *(one for each in machines for one in each.findings))
        ],
        method=method_lines(settings),
        cautions=WATCH_CAUTIONS,
    )


def write_watch_page(page: str, path: Path | str) -> None:
    """Write the page.

    Raises:
        InputError: the file cannot be written.
    """
    try:
        Path(path).write_text(page, encoding="utf-8")
    except OSError as error:
        raise InputError.one(
            "--page",
            str(path),
            say("a file that can be written ({strerror})", strerror=error.strerror),
        ) from None


def _section(machine: MachineWatch, anchor: str, settings: WatchSettings) -> dict[str, Any]:
    pictures = [
        {
            "svg": _svg(machine_figure(machine, charted.quantity)),
            "label": f"Control charts of {charted.quantity} of {machine.machine}; the tables below "
            "say the same.",
        }
        for charted in machine.charted
        if charted.quantity == "film"
        or any(alarm.quantity == charted.quantity for alarm in machine.alarms)
    ]
    alarms = alarm_cells(machine)
    steps = step_cells(machine)
    months: list[tuple[str, ...]] = [
        (
            month,
            f"{kept.loads:,}",
            f"{kept.saved_kg:,.1f} kg",
            f"{100 * kept.saving:.1f} %",
            "" if kept.kept is None else f"{100 * kept.kept:.0f} %",
        )
        for month, kept in machine.months
    ]
    tables: list[tuple[str, tuple[str, ...], list[tuple[str, ...]]]] = [
        ("Alarms", ("quantity", "chart", "loads", "from", "to", "signals"), alarms),
        (
            "Steps of the level",
            ("quantity", "step", "at load", "when", "what changed with it"),
            steps,
        ),
        ("Savings by month", ("month", "loads", "film saved", "share", "of the promise"), months),
    ]
    return {
        "name": machine.machine,
        "anchor": anchor,
        "lines": summary_lines(machine, settings),
        "pictures": pictures,
        "tables": [
            {
                "title": title,
                "columns": columns,
                "rows": rows[-MOST_ROWS:],
                "more": max(0, len(rows) - MOST_ROWS),
            }
            for title, columns, rows in tables
            if rows
        ],
    }


def _svg(figure: Figure) -> str:
    """A figure as an element for a page, without the head of a file of its own."""
    stream = io.StringIO()
    figure.savefig(stream, format="svg", metadata={"Date": None, "Creator": None})
    text = stream.getvalue()
    text = text[text.index("<svg") :]
    return re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.DOTALL)

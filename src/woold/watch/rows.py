"""What a watch says, as rows and blocks that every surface shows alike."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from woold.prediction.result import CAUTIONS, Finding
from woold.rows.blocks import Block, Bullets, Cautions, Figure, Heading, Note, Paragraph, Table
from woold.rows.wording import Wording
from woold.watch.fleet import FleetRow, FleetSummary
from woold.watch.machine import MachineWatch
from woold.watch.quantity_charts import QUANTITIES, Charted
from woold.watch.savings import SavingsKept
from woold.watch.settings import WatchSettings
from woold.words import to_say

__all__ = ["WATCH_CAUTIONS", "fleet_blocks", "headline", "most_urgent", "watch_blocks"]

WATCH_CAUTIONS = (
    to_say("Less film than in the set-up phase is an alarm too: check that loads are still held."),
    *CAUTIONS,
)

_CHARTS = {
    "individuals": to_say("single loads"),
    "ewma": to_say("weighted mean"),
    "cusum": to_say("cumulative sums"),
    "counts": to_say("counts"),
}
_DIRECTIONS = {"up": to_say("{quantity} up"), "down": to_say("{quantity} down")}
_SOURCES = {
    "weighed": to_say("weighed"),
    "length": to_say("film length measured"),
    "counter": to_say("film length counter"),
    "turns": to_say("reckoned from turns"),
}
_KINDS = {"film": "small_mass", "prestretch": "elongation", "cycle_time": "time"}
_SURE = 0.05  # a coincidence less likely than this is worth a look; common practice
_MOST_MACHINES = 40

Pictures = Callable[[MachineWatch], Sequence[Figure]]


def most_urgent(machines: Sequence[MachineWatch]) -> list[MachineWatch]:
    """Machines with a broken promise first, then those with most alarms."""

    def urgency(each: MachineWatch) -> tuple[bool, int, str]:
        kept = each.savings is None or not each.savings.falls_short
        return kept, -len(each.alarms), each.machine

    return sorted(machines, key=urgency)


def headline(machines: Sequence[MachineWatch], say: Wording) -> str:
    """One line: how many machines give an alarm."""
    count = sum(bool(each.alarms) for each in machines)
    if count == 0:
        return say("No alarm on any of {machines} machines.", machines=len(machines))
    return say("Alarms on {count} of {machines} machines.", count=count, machines=len(machines))


def watch_blocks(
    machines: Sequence[MachineWatch],
    settings: WatchSettings,
    findings: Sequence[Finding],
    say: Wording,
    pictures: Pictures = lambda _: (),
    most_rows: int = 20,
) -> tuple[Block, ...]:
    """Every machine, the most urgent first.

    Args:
        machines: that were watched.
        settings: that they were watched with.
        findings: about the files.
        say: words and numbers.
        pictures: to be shown of a machine.
        most_rows: of one table; the rest is in the JSON document.
    """
    ordered = most_urgent(machines)
    blocks: list[Block] = [Paragraph(headline(ordered, say), is_strong=True)]
    if len(ordered) > 1:
        blocks.append(_overview(ordered, settings, say))
    for each in ordered:
        blocks.append(Heading(each.machine))
        blocks += [Paragraph(" ".join(_sentences(each, settings, say)))]
        blocks += pictures(each)
        steps = tuple(_steps(each, say))
        if steps:
            blocks += [Heading(say("Steps of the level"), 3), Bullets(steps[-most_rows:])]
        for table in _tables(each, say):
            blocks += _cut(table, most_rows, say)
    found = (*findings, *(one for each in ordered for one in each.findings))
    if found:
        blocks.append(Heading(say("Findings about the records")))
        blocks += [Note(each.field, say.sentence(each.message)) for each in found]
    blocks.append(Heading(say("How this was reckoned")))
    blocks += [Paragraph(text) for text in _method(settings, say)]
    blocks.append(Cautions(say("Take care"), tuple(say(each) for each in WATCH_CAUTIONS)))
    return tuple(blocks)


def _cut(table: Table, most_rows: int, say: Wording) -> Iterator[Block]:
    """The table's last rows, and how many more there are; nothing where it is empty."""
    if not table.rows:
        return
    yield Table(table.caption, table.columns, table.rows[-most_rows:], table.words)
    more = len(table.rows) - most_rows
    if more > 0:
        yield Paragraph(say("{count} earlier ones are in the JSON document.", count=more))


def _overview(machines: Sequence[MachineWatch], settings: WatchSettings, say: Wording) -> Table:
    columns = (
        say("machine"),
        say("loads"),
        say("film now"),
        say("alarms"),
        say("film saved to date"),
        say("of the promise"),
    )
    rows = tuple(
        (
            each.machine,
            say.fixed(each.loads, 0),
            _film_now(each, say),
            str(len(each.alarms)),
            say("no promise")
            if each.savings is None
            else _saved_to_date(each.savings, settings, say),
            _kept(each.savings, say),
        )
        for each in machines
    )
    first = min(each.times[0] for each in machines).item()
    last = max(each.times[-1] for each in machines).item()
    caption = say(
        "{loads} loads from {first} to {last}",
        loads=say.fixed(sum(each.loads for each in machines), 0),
        first=f"{first:%Y-%m-%d %H:%M}",
        last=f"{last:%Y-%m-%d %H:%M}",
    )
    return Table(caption, columns, rows)


def _film_now(machine: MachineWatch, say: Wording) -> str:
    """Film per load since the last step, against the set-up phase: "+2.1 %"."""
    film = next((each for each in machine.charted if each.quantity == "film"), None)
    return say("not charted") if film is None else _change(film.charts.recent, say)


def _change(share: float, say: Wording) -> str:
    percent = round(100.0 * (share - 1.0), 1) + 0.0  # no minus before a zero
    return say.sentence(f"{percent:+.1f} %").replace("-", "−")


def _saved_to_date(kept: SavingsKept, settings: WatchSettings, say: Wording) -> str:
    """Film saved to date, with money where there is a price."""
    saved = say(
        "{mass} ({share})", mass=say.amount(kept.saved_kg, "mass"), share=say.percent(kept.saving)
    )
    price = settings.film.price
    if price is None:
        return saved
    return f"{saved}, {say.money(price.amount * kept.saved_kg, price.currency)}"


def _kept(kept: SavingsKept | None, say: Wording) -> str:
    """Saved film as a share of what was promised."""
    return "" if kept is None or kept.kept is None else say.percent(kept.kept, 0)


def _sentences(machine: MachineWatch, settings: WatchSettings, say: Wording) -> Iterator[str]:
    """Film, other quantities, breaks, savings."""
    for charted in machine.charted:
        yield _quantity_sentence(charted, machine, settings, say)
    if machine.breaks is not None:
        chart = machine.breaks
        overall = 1000.0 * float(chart.counts.sum()) / float(chart.loads.sum())
        yield say(
            "Film breaks: {overall} in 1000 loads, {set_up} in the set-up phase.",
            overall=say.fixed(overall, 1),
            set_up=say.fixed(1000.0 * chart.rate, 1),
        )
    kept = machine.savings
    if kept is not None:
        yield say(
            "Saved to date: {saved} over {loads} loads (95 %: {span}); promised: {promised}"
            " ({promised_span}).",
            saved=_saved_to_date(kept, settings, say),
            loads=say.fixed(kept.loads, 0),
            span=say.span(kept.saved_low_kg, kept.saved_high_kg, "mass"),
            promised=say.amount(kept.promised_kg, "mass"),
            promised_span=say.span(kept.promised_low_kg, kept.promised_high_kg, "mass"),
        )
        if kept.falls_short:
            yield say("This falls short of the promise.")


def _quantity_sentence(
    charted: Charted, machine: MachineWatch, settings: WatchSettings, say: Wording
) -> str:
    kind, name = _KINDS[charted.quantity], say(QUANTITIES[charted.quantity])
    if charted.quantity == "film" and machine.film_source is not None:
        is_length = settings.film.mass_per_metre is None and machine.film_source != "weighed"
        kind = "film_length" if is_length else kind
        name = f"{name} ({say(_SOURCES[machine.film_source])})"
    values = {
        "name": name[0].upper() + name[1:],
        "mean": say.amount(charted.mean, kind),
        "count": say.fixed(charted.charts.set_up.count, 0),
        "change": _change(charted.charts.recent, say),
    }
    if charted.charts.steps:
        return say(
            "{name}: {mean} on average over the {count} values of the set-up phase, and {change}"
            " since the last step.",
            **values,
        )
    return say(
        "{name}: {mean} on average over the {count} values of the set-up phase, and {change}"
        " since.",
        **values,
    )


def _tables(machine: MachineWatch, say: Wording) -> Iterator[Table]:
    columns: tuple[str, ...] = (
        say("quantity"),
        say("chart"),
        say("loads"),
        say("from"),
        say("to"),
        say("signals"),
    )
    yield Table(say("Alarms"), columns, tuple(_alarm_cells(machine, say)), words=(0, 1, 2, 3, 4))
    columns = (say("month"), say("loads"), say("film saved"), say("share"), say("of the promise"))
    yield Table(
        say("Savings by month"),
        columns,
        tuple(
            (
                month,
                say.fixed(kept.loads, 0),
                say.amount(kept.saved_kg, "mass"),
                say.percent(kept.saving),
                _kept(kept, say),
            )
            for month, kept in machine.months
        ),
    )


def _alarm_cells(machine: MachineWatch, say: Wording) -> Iterator[tuple[str, ...]]:
    for alarm in machine.alarms:
        yield (
            say(_DIRECTIONS[alarm.direction], quantity=say(QUANTITIES[alarm.quantity])),
            say(_CHARTS[alarm.chart]),
            say("{first} to {last}", first=alarm.first + 1, last=alarm.last + 1),
            f"{alarm.time:%Y-%m-%d %H:%M}",
            f"{alarm.last_time:%Y-%m-%d %H:%M}",
            str(alarm.signals),
        )


def _steps(machine: MachineWatch, say: Wording) -> Iterator[str]:
    for charted in machine.charted:
        for step, hints in zip(charted.charts.steps, charted.hints, strict=True):
            first, low, high = (
                int(charted.loads[index]) for index in (step.index, step.low, step.high)
            )
            causes = [
                say(
                    "{text} (by chance this near in {chance} of cases)",
                    text=hint.text,
                    chance=_chance(hint.chance, say),
                )
                for hint in hints
                if hint.chance < _SURE
            ]
            yield say(
                "{quantity}: {change} at load {first} ({low} to {high}), {time}: {causes}.",
                quantity=say(QUANTITIES[charted.quantity]),
                change=_change(step.after / step.before, say),
                first=first + 1,
                low=low + 1,
                high=high + 1,
                time=f"{machine.times[first].item():%Y-%m-%d %H:%M}",
                causes="; ".join(causes) or say("nothing in the records beyond coincidence"),
            )


def _chance(chance: float, say: Wording) -> str:
    if chance < 0.001:
        return say("less than {least}", least=say.percent(0.001))
    return say.percent(chance)


def _method(settings: WatchSettings, say: Wording) -> Iterator[str]:
    """How the charts are drawn, in plain words."""
    charts = settings.charts
    values = {"group": charts.group, "setup_loads": say.fixed(charts.setup_loads, 0)}
    if charts.group == 1:
        yield say(
            "Charts of each load, divided by the mean of its load type in the set-up phase"
            " ({setup_loads} loads; a placeholder unless set, 50 to 3000).",
            **values,
        )
    else:
        yield say(
            "Charts of means of {group} loads, each load divided by the mean of its load type in"
            " the set-up phase ({setup_loads} loads; a placeholder unless set, 50 to 3000).",
            **values,
        )
    yield say(
        "Limits are set so that the charts of a quantity give a false alarm every {every} loads (a"
        " placeholder unless set, 370 to 200,000), with allowance for the error of the set-up"
        " phase. They assume values that spread normally and do not hang together.",
        every=say.fixed(charts.false_alarm_every, 0),
    )
    yield say(
        "Steps of the level are found by least squares with a penalty; what changed with a step is"
        " a hint, not a proof."
    )


def fleet_blocks(summary: FleetSummary, say: Wording) -> tuple[Block, ...]:
    """The fleet, the machine that loses most film first."""
    shown = summary.rows[:_MOST_MACHINES]
    columns = (
        say("machine"),
        say("loads"),
        say("film now"),
        say("more kg a year"),
        say("changed"),
        say("alarm days"),
        say("last alarm"),
        say("breaks in 1000"),
    )
    blocks: list[Block] = [
        Table(
            say("{count} machines, the largest loss of film first", count=len(summary.rows)),
            columns,
            tuple(_fleet_cells(row, say) for row in shown),
        )
    ]
    if len(shown) < len(summary.rows):
        more = len(summary.rows) - len(shown)
        blocks.append(Paragraph(say("{count} more are in the JSON document.", count=more)))
    if summary.findings:
        blocks.append(Heading(say("Findings"), 3))
        blocks += [Note(each.field, say.sentence(each.message)) for each in summary.findings]
    blocks.append(Cautions(say("Take care"), tuple(say(each) for each in WATCH_CAUTIONS)))
    return tuple(blocks)


def _fleet_cells(row: FleetRow, say: Wording) -> tuple[str, ...]:
    lost = row.lost_kg_per_year
    return (
        row.machine,
        say.fixed(row.loads, 0),
        "-" if row.recent is None else _change(row.recent, say),
        "-" if lost is None else say.fixed(lost, 0),
        str(row.changed or "-"),
        str(row.alarms),
        str(row.last_alarm or "-"),
        "-" if row.breaks_per_1000 is None else say.fixed(row.breaks_per_1000, 1),
    )

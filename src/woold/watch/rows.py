"""What a watch says, as rows and blocks that every surface shows alike."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from woold.prediction.result import CAUTIONS, Finding
from woold.rows.blocks import Block, Bullets, Cautions, Figure, Heading, Note, Paragraph, Table
from woold.rows.wording import Wording
from woold.watch.events import Alarm
from woold.watch.level_steps import Hint
from woold.watch.machine import MachineWatch
from woold.watch.quantity_charts import QUANTITIES, Charted
from woold.watch.savings import SavingsKept
from woold.watch.settings import WatchSettings
from woold.words import to_say

__all__ = ["WATCH_CAUTIONS", "change_text", "headline", "most_urgent", "watch_blocks"]

WATCH_CAUTIONS = (
    to_say("Less film than in the set-up phase is an alarm too: check that loads are still held."),
    *CAUTIONS,
)

_SOURCES = {
    "weighed": to_say("weighed"),
    "length": to_say("film length measured"),
    "counter": to_say("film length counter"),
    "turns": to_say("reckoned from turns"),
}
_KINDS = {"film": "small_mass", "prestretch": "elongation", "cycle_time": "time"}
_SURE = 0.05  # a coincidence less likely than this is worth a look; common practice
_MOST_CAUSES = 2
_NEAR = 50  # loads after an event in which a step is still its end

Pictures = Callable[[MachineWatch], Sequence[Figure]]


def most_urgent(machines: Sequence[MachineWatch]) -> list[MachineWatch]:
    """Machines with a broken promise first, then those with most events."""

    def urgency(each: MachineWatch) -> tuple[bool, int, str]:
        kept = each.savings is None or not each.savings.falls_short
        return kept, -len(each.events), each.machine

    return sorted(machines, key=urgency)


def headline(machines: Sequence[MachineWatch], say: Wording) -> str:
    """One line: how many machines give an alarm."""
    count = sum(bool(each.events) for each in machines)
    if len(machines) == 1:
        return say("Alarms on this machine.") if count else say("No alarm on this machine.")
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
    found = (*findings, *(one for each in ordered for one in each.findings))
    if found:
        blocks.append(Heading(say("Findings about the records")))
        blocks += [Note(each.field, say.sentence(each.message)) for each in found]
    if len(ordered) > 1:
        blocks.append(_overview(ordered, settings, say))
    for each in ordered:
        blocks.append(Heading(each.machine))
        blocks += [Paragraph(" ".join(_sentences(each, settings, say)))]
        blocks += pictures(each)
        for heading, items in (
            (say("Events"), tuple(_events(each, say))),
            (say("Steps of the level without an alarm"), tuple(_other_steps(each, say))),
        ):
            blocks += _listed(heading, items, most_rows, say)
        if each.months:
            blocks.append(_months(each, say))
    blocks.append(Heading(say("How this was reckoned")))
    blocks += [Paragraph(text) for text in _method(settings, say)]
    blocks.append(Cautions(say("Take care"), tuple(say(each) for each in WATCH_CAUTIONS)))
    return tuple(blocks)


def _listed(heading: str, items: tuple[str, ...], most_rows: int, say: Wording) -> Iterator[Block]:
    """The last items, and how many came before them; nothing where there are none."""
    if not items:
        return
    yield Heading(heading, 3)
    yield Bullets(items[-most_rows:])
    more = len(items) - most_rows
    if more > 0:
        yield Paragraph(say("{count} earlier ones are in the JSON document.", count=more))


def _overview(machines: Sequence[MachineWatch], settings: WatchSettings, say: Wording) -> Table:
    columns = (
        say("machine"),
        say("loads"),
        say("film now"),
        say("events"),
        say("film saved to date"),
        say("of the promise"),
    )
    rows = tuple(
        (
            each.machine,
            say.fixed(each.loads, 0),
            _film_now(each, say),
            str(len(each.events)),
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
        "Loads from {first} to {last}: {loads}",
        loads=say.fixed(sum(each.loads for each in machines), 0),
        first=f"{first:%Y-%m-%d %H:%M}",
        last=f"{last:%Y-%m-%d %H:%M}",
    )
    return Table(caption, columns, rows)


def _film_now(machine: MachineWatch, say: Wording) -> str:
    """Film per load since the last step, against the set-up phase: "+2.1 %"."""
    film = next((each for each in machine.charted if each.quantity == "film"), None)
    return say("not charted") if film is None else change_text(film.chart.recent, say)


def change_text(share: float, say: Wording) -> str:
    """A share of the set-up phase as a change from it: "+2.1 %"."""
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
        yield say(
            "Film breaks: {overall} in 1000 loads; {count} in the {loads} loads of the set-up"
            " phase.",
            overall=say.fixed(1000.0 * chart.rate, 1),
            count=chart.set_up_breaks,
            loads=say.fixed(chart.set_up_loads, 0),
        )
    kept = machine.savings
    if kept is not None:
        yield say(
            "Saved to date: {saved} (95 %: {span}; loads: {loads}); promised: {promised}"
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
        "count": say.fixed(charted.chart.set_up.count, 0),
        "change": change_text(charted.chart.recent, say),
    }
    if charted.chart.steps:
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


def _months(machine: MachineWatch, say: Wording) -> Table:
    columns = (say("month"), say("loads"), say("film saved"), say("share"), say("of the promise"))
    return Table(
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


def _events(machine: MachineWatch, say: Wording) -> Iterator[str]:
    """What, since when, until when, the most likely cause, and where the alarm came."""
    for event in machine.events:
        since = event.since
        values = {
            "what": ", ".join(_what(each, say) for each in event.alarms),
            "load": since.index + 1,
            "low": since.low + 1,
            "high": since.high + 1,
            "time": _time(machine, since.index),
            "cause": _cause(event.hints, say),
            "alarm": event.alarm + 1,
        }
        if event.is_open:
            yield say(
                "{what} since load {load} ({low} to {high}), {time}, and still so: {cause}. Alarm"
                " at load {alarm}.",
                **values,
            )
        else:
            yield say(
                "{what} from load {load} ({low} to {high}), {time}, to load {last}, {until}:"
                " {cause}. Alarm at load {alarm}.",
                last=event.last + 1,
                until=_time(machine, event.last),
                **values,
            )


def _time(machine: MachineWatch, load: int) -> str:
    return f"{machine.times[load].item():%Y-%m-%d %H:%M}"


def _what(alarm: Alarm, say: Wording) -> str:
    if alarm.quantity == "breaks":
        return say(
            "film breaks {after} in 1000 loads after {before}",
            before=say.fixed(1000.0 * alarm.step.before, 1),
            after=say.fixed(1000.0 * alarm.step.after, 1),
        )
    return say(
        "{quantity} {change}",
        quantity=say(QUANTITIES[alarm.quantity]),
        change=change_text(alarm.change, say),
    )


def _cause(hints: Sequence[Hint], say: Wording) -> str:
    causes = [
        say(
            "{text} (by chance this near in {chance} of cases)",
            text=hint.text,
            chance=_chance(hint.chance, say),
        )
        for hint in hints
        if hint.chance < _SURE
    ]
    return "; ".join(causes[:_MOST_CAUSES]) or say("nothing in the records beyond coincidence")


def _other_steps(machine: MachineWatch, say: Wording) -> Iterator[str]:
    """Steps of the level that no event tells of."""
    told = [
        (alarm.quantity, alarm.step.low, alarm.last)
        for each in machine.events
        for alarm in each.alarms
    ]
    for charted in machine.charted:
        for step, hints in zip(charted.chart.steps, charted.hints, strict=True):
            first, low, high = (
                int(charted.loads[index]) for index in (step.index, step.low, step.high)
            )
            if any(
                name == charted.quantity and at <= high and low <= last + _NEAR
                for name, at, last in told
            ):
                continue
            yield say(
                "{quantity} {change} at load {first} ({low} to {high}), {time}: {cause}.",
                quantity=say(QUANTITIES[charted.quantity]),
                change=change_text(step.after / step.before, say),
                first=first + 1,
                low=low + 1,
                high=high + 1,
                time=_time(machine, first),
                cause=_cause(hints, say),
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
        "Each value is held against the set-up phase by its rank, and freed of what the one before"
        " tells of it; cumulative sums or weighted means of that are the chart. So the shape of the"
        " values does not matter, and a single odd load is no alarm. The limit gives a false alarm"
        " of a quantity every {every} loads (a placeholder unless set, 370 to {most}), averaged"
        " over what a set-up phase of that length may have missed.",
        every=say.fixed(charts.false_alarm_every, 0),
        most=say.fixed(200_000, 0),
    )
    yield say(
        "Breaks are charted by the loads between them, each gap against all loads before it. Places"
        " of changes are ranges that hold the true load in 95 % of cases; what changed with them is"
        " a hint, not a proof."
    )

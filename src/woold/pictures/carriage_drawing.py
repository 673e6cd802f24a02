"""The film carriage drawn to scale, beside what pre-stretch it delivers at each force to load."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.patches import Circle

from woold.carriages.comparison import BOTH, CarriageComparison
from woold.carriages.study import CarriageReport
from woold.physics.rollers import Contact, FilmPath
from woold.pictures.canvas import INK, LIGHT, MIDDLE, new_figure, trade_axis, wants_trade
from woold.units import UnitSystem, show
from woold.words import say, to_say

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["carriage_figure", "comparison_figure"]

_FILM = "#b3402a"
_ROLE_FACES = {"slow": LIGHT, "fast": MIDDLE, "roll": "#f2efe6", "nip": "#e3e3e3"}
_WHAT_GOVERNS = {
    "gears": to_say("set by the gears"),
    "slow roller": to_say("slow roller slips"),
    "fast roller": to_say("fast roller slips"),
    "film": to_say("the film's curve ends"),
}
_LINES = {"gears": "-", "slow roller": "--", "fast roller": ":", "film": "-."}


def carriage_figure(report: CarriageReport, path: FilmPath | None, system: UnitSystem) -> Figure:
    """The carriage to scale, and delivered pre-stretch against force to load.

    Args:
        report: the carriage's report.
        path: its film path; None where the case lists no rollers, then only the curve is drawn.
        system: units of labels and axes.
    """
    figure = new_figure(10.6 if path else 6.4, 6.0)
    if path is None:
        curve = figure.subplots()
    else:
        plan, curve = figure.subplots(1, 2, width_ratios=[1.35, 1.0])
        draw_path(plan, path, system, 3.8)
        plan.set_title(
            say(
                "seen from above, to scale; {length} of film inside",
                length=show(path.film_length, "length", system),
            ),
            fontsize=9,
        )
    _draw_curve(curve, report)
    if wants_trade(system):
        trade_axis(curve, "force", "lbf", say("force to load [lbf]"), axis="x")
    figure.legend(loc="outside lower right", ncols=3, frameon=False, fontsize=8)
    figure.suptitle(report.title or say("Film carriage"), fontsize=11)
    return figure


def comparison_figure(
    comparison: CarriageComparison,
    paths: tuple[FilmPath | None, FilmPath | None],
    system: UnitSystem,
) -> Figure:
    """Both carriages to one scale, and the saving by cause with its intervals.

    Args:
        comparison: the comparison.
        paths: film paths of base and candidate; None where a case lists no rollers.
        system: units of labels.
    """
    figure = new_figure(11.0, 6.6)
    drawn = [
        (path, name, made)
        for path, name, made in zip(
            paths,
            (say("base"), say("candidate")),
            (comparison.base, comparison.candidate),
            strict=True,
        )
        if path is not None
    ]
    if drawn:
        upper, lower = figure.subfigures(2, 1, squeeze=False, height_ratios=[2.0, 1.0])[:, 0]
        plans = upper.subplots(1, len(drawn), squeeze=False)[0]
        sizes = [_extent(path) for path, _, _ in drawn]
        width = max(size[1] - size[0] for size in sizes)
        height = max(size[3] - size[2] for size in sizes)
        for axes, (path, name, made), size in zip(plans, drawn, sizes, strict=True):
            draw_path(axes, path, "si" if system == "both" else system, 2.9)
            middle = (0.5 * (size[0] + size[1]), 0.5 * (size[2] + size[3]))
            axes.set_xlim(middle[0] - 0.55 * width, middle[0] + 0.55 * width)
            axes.set_ylim(middle[1] - 0.55 * height, middle[1] + 0.55 * height)
            axes.set_title(
                say(
                    "{name}: {stretch} delivered, film {width} wide,\n{mass} a load in {turns:.1f}"
                    " turns",
                    name=name,
                    stretch=show(made.prestretch_delivered, "elongation"),
                    width=show(made.film_width_on_load_m, "small_length", system),
                    mass=show(made.film_mass_kg, "small_mass", system),
                    turns=made.turns,
                ),
                fontsize=9,
            )
        bars = lower.subplots()
    else:
        bars = figure.subplots()
    _draw_causes(bars, comparison)
    less = to_say("Same load, force and overlap: the candidate uses {share:.1f} % less film")
    more = to_say("Same load, force and overlap: the candidate uses {share:.1f} % more film")
    key = less if comparison.saving >= 0 else more
    figure.suptitle(say(key, share=100 * abs(comparison.saving)), fontsize=11)
    return figure


def _extent(path: FilmPath) -> tuple[float, float, float, float]:
    return (
        min(each.x - each.radius for each in path.rollers),
        max(each.x + each.radius for each in path.rollers),
        min(each.y - each.radius for each in path.rollers),
        max(each.y + each.radius for each in path.rollers),
    )


def draw_path(axes: Axes, path: FilmPath, system: UnitSystem, inches: float) -> None:
    """Rollers, film with arrows, contact angles and the gap, to scale.

    Args:
        axes: where to draw.
        path: the film's path.
        system: units of the gap.
        inches: size of the drawing on paper, about: labels need to know how large they are [in].
    """
    for roller in path.rollers:
        if roller.radius > 0:
            face = _ROLE_FACES.get(roller.role, "white")
            axes.add_patch(
                Circle(roller.centre, roller.radius, facecolor=face, edgecolor=INK, zorder=2)
            )
        else:
            axes.plot(roller.x, roller.y, marker="x", color=INK, zorder=6)
    for contact in path.contacts:
        axes.plot(*_arc(contact), color=_FILM, linewidth=2.2, solid_capstyle="round", zorder=4)
    for span in path.spans:
        (x0, y0), (x1, y1) = span.start, span.end
        axes.plot([x0, x1], [y0, y1], color=_FILM, linewidth=1.6, zorder=4)
        axes.annotate(
            "",
            xy=(x0 + 0.58 * (x1 - x0), y0 + 0.58 * (y1 - y0)),
            xytext=(x0 + 0.48 * (x1 - x0), y0 + 0.48 * (y1 - y0)),
            arrowprops={"arrowstyle": "-|>", "color": _FILM, "shrinkA": 0, "shrinkB": 0},
            zorder=5,
        )
    _write_labels(axes, path, system, inches)
    left, right, bottom, top = _extent(path)
    margin = 0.08 * max(right - left, top - bottom)
    axes.set_xlim(left - margin, right + margin)
    axes.set_ylim(bottom - margin, top + margin)
    axes.set_aspect("equal")
    axes.set_xlabel("x [m]")
    axes.set_ylabel("y [m]")


def _write_labels(axes: Axes, path: FilmPath, system: UnitSystem, inches: float) -> None:
    """Names with contact angles inside the rollers where there is room, else beside; the gap."""
    angles = {contact.roller.name: contact.contact_angle for contact in path.contacts}
    size = max(_extent(path)[1] - _extent(path)[0], _extent(path)[3] - _extent(path)[2])
    letter, line = 0.075 / inches * size, 0.15 / inches * size
    # A cross that marks a place is as large on any paper: 6 points.
    room = _Room(path, 0.05 / inches * size)
    beside: list[tuple[str, tuple[float, float]]] = []
    for roller in path.rollers:
        words = roller.name
        if roller.name in angles:
            words += f"\n{math.degrees(angles[roller.name]):.0f}°"
        if roller.radius > 0.55 * letter * max(map(len, words.split("\n"))):
            colour = "white" if roller.role == "fast" else INK
            axes.text(
                *roller.centre, words, ha="center", va="center", fontsize=8, color=colour, zorder=6
            )
        else:
            beside.append((words, roller.centre))
    slow = path.contact("slow").roller.name
    span = next(span for span in path.spans if span.start_name == slow)
    middle = (0.5 * (span.start[0] + span.end[0]), 0.5 * (span.start[1] + span.end[1]))
    gap = say("gap {length}", length=show(path.gap, "small_length", system))
    beside.append((gap, middle))
    for words, anchor in beside:
        lines = words.split("\n")
        half = (0.5 * letter * max(map(len, lines)), 0.5 * line * len(lines))
        place = room.place(anchor, half)
        far = math.dist(place, anchor) > 0.13 * size or words is gap
        axes.annotate(
            words,
            anchor,
            place,
            ha="center",
            va="center",
            fontsize=8,
            arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.6} if far else None,
            zorder=7,
        )


class _Room:
    """Where a label may stand: clear of rollers, film and other labels."""

    def __init__(self, path: FilmPath, cross: float) -> None:
        points = [
            (
                span.start[0] + share * (span.end[0] - span.start[0]),
                span.start[1] + share * (span.end[1] - span.start[1]),
            )
            for span in path.spans
            for share in np.linspace(0.0, 1.0, 60)
        ]
        self._rollers = path.rollers
        for roller in path.rollers:
            rings = np.linspace(0.0, roller.radius or cross, 6)
            for around in np.linspace(0.0, math.tau, 48, endpoint=False):
                points += [
                    (roller.x + ring * math.cos(around), roller.y + ring * math.sin(around))
                    for ring in rings
                ]
        self._taken = np.array(points)

    def place(self, anchor: tuple[float, float], half: tuple[float, float]) -> tuple[float, float]:
        """The free place nearest to an anchor for a label of this half width and height."""
        places = [
            # Wider sideways, as labels are wider than high.
            (
                anchor[0] + (reach + half[0]) * math.cos(around),
                anchor[1] + (reach + half[1]) * math.sin(around),
            )
            for reach in np.linspace(0.5, 9.0, 35) * half[1]
            for around in np.linspace(0.0, math.tau, 24, endpoint=False)
        ]
        free = [place for place in places if self._is_free(place, half)]
        clear = (place for place in free if not self._is_crossed(anchor, place))
        x, y = next(clear, free[0] if free else anchor)
        across, up = np.meshgrid(np.linspace(-1, 1, 9), np.linspace(-1, 1, 5))
        box = np.column_stack([x + half[0] * across.ravel(), y + half[1] * up.ravel()])
        self._taken = np.vstack([self._taken, box])
        return x, y

    def _is_free(self, place: tuple[float, float], half: tuple[float, float]) -> bool:
        beside = np.abs(self._taken[:, 0] - place[0]) > 1.05 * half[0]
        above = np.abs(self._taken[:, 1] - place[1]) > 1.1 * half[1]
        return bool(np.all(beside | above))

    def _is_crossed(self, anchor: tuple[float, float], place: tuple[float, float]) -> bool:
        """Whether a line from anchor to place runs through a roller that is not the anchor's."""
        shares = np.linspace(0.0, 1.0, 40)
        x = anchor[0] + shares * (place[0] - anchor[0])
        y = anchor[1] + shares * (place[1] - anchor[1])
        return any(
            bool(np.any(np.hypot(x - each.x, y - each.y) < 0.97 * each.radius))
            for each in self._rollers
            if math.dist(anchor, each.centre) > each.radius
        )


def _start_angle(contact: Contact) -> float:
    roller = contact.roller
    return math.atan2(contact.arrives[1] - roller.y, contact.arrives[0] - roller.x)


def _arc(contact: Contact) -> tuple[np.ndarray, np.ndarray]:
    roller = contact.roller
    steps = np.linspace(0.0, contact.contact_angle, 90)
    around = _start_angle(contact) + roller.turn * steps
    return (
        roller.x + roller.radius * np.cos(around),
        roller.y + roller.radius * np.sin(around),
    )


def _draw_curve(axes: Axes, report: CarriageReport) -> None:
    forces = np.array([point.force_to_load_n for point in report.curve])
    elongations = 100.0 * (np.array([point.prestretch_delivered for point in report.curve]) - 1.0)
    governs = [point.governed_by for point in report.curve]
    said: set[str] = set()
    start = 0
    for index in range(1, len(governs) + 1):
        if index < len(governs) and governs[index] == governs[start]:
            continue
        name = governs[start]
        # Each piece reaches to the next one, so that the curve is closed.
        piece = slice(start, min(index + 1, len(governs)))
        axes.plot(
            forces[piece],
            elongations[piece],
            color=INK if name == "gears" else MIDDLE,
            linestyle=_LINES[name],
            linewidth=2.0,
            label=None if name in said else say(_WHAT_GOVERNS[name]),
        )
        said.add(name)
        start = index
    axes.axhline(
        100.0 * (report.natural_draw_stretch - 1.0),
        color=INK,
        linewidth=0.7,
        linestyle=(0, (1, 3)),
        label=say("draws unevenly below"),
    )
    axes.plot(
        report.force_to_load_n,
        100.0 * (report.prestretch_delivered - 1.0),
        marker="o",
        color=_FILM,
        linestyle="",
        label=say("this case"),
        zorder=5,
    )
    axes.set_xlim(left=0.0)
    axes.set_ylim(bottom=0.0, top=118.0 * (report.prestretch_geared - 1.0))
    axes.set_xlabel(say("force to load [N]"))
    axes.set_ylabel(say("pre-stretch delivered [%]"))


def _draw_causes(axes: Axes, comparison: CarriageComparison) -> None:
    causes = comparison.causes[::-1]
    for row, cause in enumerate(causes):
        share, interval = 100 * cause.share, cause.interval
        axes.barh(row, share, color=INK if cause.cause == BOTH else MIDDLE, height=0.55)
        axes.plot(
            [100 * interval.low, 100 * interval.high],
            [row, row],
            color=_FILM,
            linewidth=2.2,
            marker="|",
            markersize=9,
        )
        axes.text(
            max(share, 100 * interval.high, 0.0) + 0.3,
            row,
            f"{share:.1f} %",
            va="center",
            fontsize=8.5,
        )
    axes.axvline(0.0, color=INK, linewidth=0.8)
    axes.set_yticks(range(len(causes)), [say(cause.cause) for cause in causes])
    axes.set_xlabel(say("share of the base's film that is saved [%]; lines hold 90 % of the draws"))

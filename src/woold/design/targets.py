"""What a wrapped load must hold: targets by height, what its transport asks for, crush limits."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from woold.case.model import Case
from woold.design.tiers import Tiers
from woold.errors import InputError, PhysicsError
from woold.physics.felt_patch import felt_zone, span_of_zone
from woold.physics.soft_load import layers_for_force
from woold.physics.tier_wraps import TierTables
from woold.prediction.film_over_height import layer_force_later, one_layer_stiffness
from woold.prediction.predict import film_on_load
from woold.prediction.result import FilmOnLoad, Prediction
from woold.transport.film_over_interfaces import interface_zones, wrap_over_interfaces
from woold.transport.result import LARGEST_GIVE, limit_name
from woold.transport.screen import screen_transport
from woold.units import show, show_range
from woold.words import say

__all__ = ["ForceZone", "LayerZone", "Shortfall", "Targets", "targets_of"]

Floats = NDArray[np.float64]

_ROUNDING = 1e-7
"""Share of a target below which a lack is rounding [-]."""


@dataclass(frozen=True, slots=True)
class ForceZone:
    """Containment force that must be held over a zone of height.

    Args:
        low, high: ends of the zone, counted in [m].
        force: containment force at the age asked for [N].
        field: field of the case that asks for it.
        felt: ends of the zone as a verdict is asked for it; None where it is asked of no verdict.
    """

    low: float
    high: float
    force: float
    field: str
    felt: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class LayerZone:
    """Layers of one film at one force that are needed over a zone of height.

    Args:
        low, high: ends of the zone, counted in [m].
        layers: layers, not rounded [-].
    """

    low: float
    high: float
    layers: float


@dataclass(frozen=True, slots=True)
class Shortfall:
    """A target that a prediction misses.

    Args:
        field: field of the case that asks for it.
        held: what is held.
        asked: what is asked for.
        message: the same in words.
    """

    field: str
    held: float
    asked: float
    message: str


@dataclass(frozen=True, eq=False)
class Targets:
    """What must be held; the larger of everything that applies counts.

    Args:
        zones: containment forces.
        tiers: the load under its transport profiles; None without transport.
        as_today: nothing was asked for, so that what today's program holds at least must be held.
        scale: multiple of everything that is to be held [-].
        whole_height: the load's whole height must be covered.
    """

    zones: tuple[ForceZone, ...]
    tiers: Tiers | None
    as_today: bool
    scale: float = 1.0
    whole_height: bool = True

    @property
    def beyond_film(self) -> bool:
        """Something is asked for that no film can hold: the unit slides or tips as a whole."""
        return self.tiers is not None and self.tiers.beyond_film

    def scaled(self, scale: float) -> Targets:
        """A multiple of these targets; covering the load is not multiplied."""
        return replace(self, scale=self.scale * scale)

    def redrawn(self, case: Case) -> Targets:
        """The same targets, where the transport's frictions are those of another case."""
        return replace(self, tiers=_tiers(case)) if self.tiers else self

    @property
    def is_felt(self) -> bool:
        """Some of it is asked over patches that a hand can feel, as a verdict asks it."""
        return any(zone.felt is not None for zone in self.zones)

    def layer_zones(
        self, case: Case, sheet: FilmOnLoad, age: float = 0.0, is_felt: bool = False
    ) -> tuple[LayerZone, ...]:
        """Layers needed over the height, with one film at one force.

        What holds at every point holds over every patch too.

        Args:
            case: the case with that film and force.
            sheet: that film on the load.
            age: time from when the film is laid to the end of the cycle [s].
            is_felt: leave out what is asked over patches, :meth:`felt_zones`.
        """
        one = layer_force_later(case, age)
        stiffnesses = _stiffnesses(case, sheet)
        zones = [LayerZone(0.0, case.load.height, 1.0)] if self.whole_height else []
        zones += [
            LayerZone(zone.low, zone.high, self._layers(zone, case, sheet, age))
            for zone in self.zones
            if not is_felt or zone.felt is None
        ]
        tables = self.tier_tables(case, sheet, age)
        if tables is not None:
            zones += [
                # As many layers as the shear needs, and more where a soft load slackens them.
                replace(
                    zone,
                    layers=max(zone.layers, layers_for_force(zone.layers * one, one, *stiffnesses)),
                )
                for zone in self.tier_zones(case, self._tiers().least_layers(tables))
            ]
        return tuple(zones)

    def felt_zones(self, case: Case, sheet: FilmOnLoad, age: float = 0.0) -> tuple[LayerZone, ...]:
        """Mean layers needed over every patch of zones, as a verdict is asked for them.

        Args:
            case, sheet, age: as for :meth:`layer_zones`.
        """
        return tuple(
            LayerZone(*zone.felt, self._layers(zone, case, sheet, age))
            for zone in self.zones
            if zone.felt is not None
        )

    def _layers(self, zone: ForceZone, case: Case, sheet: FilmOnLoad, age: float) -> float:
        """Layers that hold the force of a zone, not rounded [-]."""
        safe = layer_force_later(case, age, is_safe=True)
        return layers_for_force(self.scale * zone.force, safe, *_stiffnesses(case, sheet))

    def tier_tables(self, case: Case, sheet: FilmOnLoad, age: float = 0.0) -> TierTables | None:
        """The transport screen over layers of one film; None without transport.

        Args:
            case: the case with that film and force.
            sheet: that film on the load.
            age: time from when the film is laid to the end of the cycle [s].
        """
        return None if self.tiers is None else self.tiers.tables(case, sheet, age, self.scale)

    @staticmethod
    def tier_zones(case: Case, layers: Floats) -> list[LayerZone]:
        """Zones over the interfaces that need layers."""
        assert case.transport is not None
        lows, highs = interface_zones(case, case.transport)
        return [
            LayerZone(float(low), float(high), float(count))
            for low, high, count in zip(lows, highs, layers, strict=True)
            if count > 0.0
        ]

    def _tiers(self) -> Tiers:
        assert self.tiers is not None
        return self.tiers

    def shortfalls(self, case: Case, prediction: Prediction) -> tuple[Shortfall, ...]:
        """Every target that a prediction of this case, with whatever settings, misses."""
        return tuple(self._shortfalls(case, prediction))

    def _shortfalls(self, case: Case, prediction: Prediction) -> Iterator[Shortfall]:
        heights, layers, _, later = _profile(prediction)
        least = float(layers[heights >= 0.0].min())
        if self.whole_height and least < 1.0 - 1e-9:
            yield Shortfall(
                "program", least, 1.0, say("The load's side is not covered everywhere.")
            )
        for zone in self.zones:
            asked = self.scale * zone.force
            held = _held(prediction, zone, heights, later)
            if held < asked * (1.0 - _ROUNDING):
                yield Shortfall(
                    zone.field,
                    held,
                    asked,
                    say(
                        "{zone}: {held} of the {asked} asked for.",
                        zone=show_range(zone.low, zone.high, "length"),
                        held=show(held, "force"),
                        asked=show(asked, "force"),
                    ),
                )
        if self.tiers is not None and self.scale == 1.0:
            yield from self._transport_shortfalls(case, prediction)
        elif self.tiers is not None:
            share = self._tier_share(case, prediction)
            if share < self.scale * (1.0 - _ROUNDING):
                yield Shortfall(
                    "transport.profiles",
                    share,
                    self.scale,
                    say("{share:.0%} of the film that the tiers need.", share=share),
                )

    @staticmethod
    def _transport_shortfalls(case: Case, prediction: Prediction) -> Iterator[Shortfall]:
        for profile in screen_transport(case, prediction).profiles:
            if profile.holds:
                continue
            most = [math.inf if way.used_most is None else way.used_most for way in profile.ways]
            worst = profile.ways[most.index(max(most))]
            message = limit_name(worst.limited_by)
            if profile.holds is None:
                message = say("it cannot be said, since what decides was not measured")
            yield Shortfall(
                "transport.profiles",
                1.0 / max(*most, 1.0),
                1.0,
                f"{profile.profile}: {message}.",
            )

    def _tier_share(self, case: Case, prediction: Prediction) -> float:
        """Film over the interfaces, over what it could be cut down to [-]."""
        asked = case.transport
        assert asked is not None
        wrap = wrap_over_interfaces(case, asked, prediction)
        tiers = self._tiers()
        return tiers.film_share(case, film_on_load(case), wrap.layers, wrap.force)

    def shares(self, prediction: Prediction) -> tuple[float, ...]:
        """What is held over what is asked for, for each force target [-]."""
        heights, _, _, later = _profile(prediction)
        return tuple(_held(prediction, z, heights, later) / z.force for z in self.zones)

    def least_share(self, case: Case, prediction: Prediction) -> float:
        """Least of what is held over what is asked for, transport included [-].

        For transport it is the film over the interfaces, over that part of it which would do.
        """
        shares = list(self.shares(prediction))
        if self.tiers is not None:
            shares.append(self._tier_share(case, prediction))
        return min(shares, default=1.0)


def _profile(prediction: Prediction) -> tuple[Floats, Floats, Floats, Floats]:
    """Heights, least layers, least force at the age asked for, and its safe side."""
    points = prediction.containment_profile
    return (
        np.array([point.height_m for point in points]),
        np.array([point.layers_min for point in points]),
        np.array([point.force_later_n for point in points]),
        np.array([point.force_later_low_n for point in points]),
    )


def _held(prediction: Prediction, zone: ForceZone, heights: Floats, later: Floats) -> float:
    """Least that a zone holds, over patches where a verdict judges it, else at any point [N].

    Over patches all legs are reckoned to lose as large a share of their force as the one that loses
    most.
    """
    if zone.felt is None:
        return _least_over(heights, later, zone.low, zone.high)
    felt = prediction.felt
    return felt_zone(felt.patches, felt.step, zone.felt).least * felt.worse_share


def _least_over(heights: Floats, values: Floats, low: float, high: float) -> float:
    """Least value over a zone; 0 where film does not reach down to its lower end."""
    inside = (heights >= low - 1e-9) & (heights <= high + 1e-9)
    if not inside.any() or heights[0] > low + 1e-9:
        return 0.0
    return float(values[inside].min())


def targets_of(case: Case, today: Prediction) -> Targets:
    """The case's targets, from [hold] and [transport]; without any, what today's program holds.

    Args:
        case: the case.
        today: prediction of today's program.

    Raises:
        InputError: a target above the load or below the film's start, an unknown profile, or
            nothing asked for where today's program holds nothing.
    """
    zones = []
    for index, each in enumerate(case.hold.targets):
        high = case.load.height if each.high is None else each.high
        field = f"hold.targets[{index}]"
        if high > case.load.height or each.low >= high:
            raise InputError.one(
                field,
                show_range(each.low, high, "length"),
                say(
                    "a zone of height within the load, up to {height}",
                    height=show(case.load.height, "length"),
                ),
                say("Give low and high as heights over the deck."),
            )
        if each.low < case.program.start_height:
            raise InputError.one(
                f"{field}.low",
                show(each.low, "length"),
                say(
                    "at least program.start_height, {start_height}",
                    start_height=show(case.program.start_height, "length"),
                ),
                say("No film lies below its start height."),
            )
        # A zone lower than a patch is judged by patches that reach out of it.
        felt = (each.low, high)
        low, high = span_of_zone(felt, today.felt.step, len(today.felt.patches))
        zones.append(ForceZone(low, high, each.force, field, felt))
    tiers = _tiers(case)
    if case.transport is not None and tiers is not None:
        grip = case.transport.pallet_grip
        if case.program.start_height > -grip and bool(np.asarray(tiers.slips)[0]):
            raise PhysicsError.one(
                "program.start_height",
                show(case.program.start_height, "small_length"),
                say(
                    "at most -{grip}: the lowest tier slips on its deck unless film holds it"
                    " to the pallet",
                    grip=show(grip, "small_length"),
                ),
                say("Start lower, or raise transport.deck_friction by an anti-slip sheet."),
            )
    if case.transport is not None and case.transport.package_give > LARGEST_GIVE:
        raise PhysicsError.one(
            "transport.package_give",
            show(case.transport.package_give, "small_length"),
            say("at most {give}", give=show(LARGEST_GIVE, "small_length")),
            say(
                "Packages that give by more swing more than the screen was weighed for: only a test"
                " of a wrapped load can say what holds them."
            ),
        )
    as_today = not zones and tiers is None
    if as_today:
        # The design asks it of every point, not of patches alone.
        held = min(p.force_later_low_n for p in today.containment_profile if p.height_m >= 0.0)
        if held <= 0.0:
            raise InputError.one(
                "hold.targets",
                say("nothing, and today's program leaves part of the load bare"),
                say("a containment force for a zone of height, or a [transport] table"),
                say("State a containment force, such as 120 N: hold.targets."),
            )
        zones.append(ForceZone(0.0, case.load.height, held, "program"))
    return Targets(tuple(zones), tiers, as_today)


def _tiers(case: Case) -> Tiers | None:
    """The case's tiers under its transport profiles; None without transport."""
    return None if case.transport is None else Tiers(case, case.transport)


def _stiffnesses(case: Case, sheet: FilmOnLoad) -> tuple[float, float]:
    """Of one layer and of the load, per unit of hoop strain [N].

    By the film's mass: a sheet that stands for a range of forces is as light as at any of them, and
    as thick and wide, and what gives way under it must not be made stiffer by that.
    """
    load = case.load.hoop_stiffness
    if load is None:
        return 0.0, math.inf
    area = sheet.mass_per_metre / case.film.density
    return one_layer_stiffness(case, area, 1.0), load

"""One roller of the case's carriage."""

from __future__ import annotations

from typing import Self

from pydantic import model_validator

from woold.case.fields import Section, plain, quantity
from woold.physics.rollers import Role, Side
from woold.words import say

__all__ = ["RollerEntry"]


class RollerEntry(Section):
    """One roller of the carriage, seen from above; in the film's order, the roll first."""

    name: str = plain("what it is called", example='"slow"', min_length=1, max_length=40)
    role: Role = plain(
        "roll (first), idler, slow, fast, dancer, nip or load (last: the film's way out)",
        example='"slow"',
    )
    x: float = quantity(
        "small_length",
        "of the centre",
        example="150 mm",
        ge=-10,
        le=10,
        nature="place",
        usual=("-1.5 m", "1.5 m"),
    )
    y: float = quantity(
        "small_length",
        "of the centre",
        example="0 mm",
        ge=-10,
        le=10,
        nature="place",
        usual=("-1.5 m", "1.5 m"),
    )
    diameter: float = quantity(
        "small_length",
        "0 mm only for the way out",
        "0 mm",
        example="100 mm",
        ge=0,
        le=2,
        usual=("0 mm", "400 mm"),
    )
    side: Side | None = plain(
        "side of the moving film on which the roller stands: the film turns to that side",
        None,
        example='"left"',
    )
    teeth: int | None = plain(
        "of its gear or sprocket, such as 36; for slow and fast",
        None,
        ge=1,
        le=1000,
        usual=(6, 200),
    )
    friction: float | None = quantity(
        "ratio",
        "of the film on it, if not as carriage.friction",
        None,
        gt=0,
        le=5,
        usual=("0.1", "2"),
    )
    presses_on: str = plain("name of the roller that a nip is pressed on", "", max_length=40)
    nip_force: float | None = quantity(
        "force", "that presses a nip on its roller", None, ge=0, usual=("1 N", "500 N"), le=50_000
    )

    @model_validator(mode="after")
    def _as_its_role_asks(self) -> Self:
        if self.role == "nip":
            if not self.presses_on or self.nip_force is None:
                raise ValueError(say("presses_on and nip_force for a nip"))
        elif self.presses_on or self.nip_force is not None:
            raise ValueError(say("presses_on and nip_force only for a nip"))
        elif self.side is None and self.role != "load":
            raise ValueError(
                say('side = "left" or "right": where the roller stands beside the film')
            )
        if self.teeth is not None and self.role not in ("slow", "fast"):
            raise ValueError(say("teeth only for the slow and the fast roller"))
        return self

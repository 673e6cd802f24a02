"""The film on the roll."""

from __future__ import annotations

from typing import Self

from pydantic import model_validator

from woold.case.fields import Section, quantity
from woold.physics.film_curve import LEAST_ELASTIC
from woold.units import Money, show
from woold.words import say

__all__ = ["Film"]


class Film(Section):
    """The film on the roll."""

    roll_width: float = quantity(
        "small_length",
        "width on the roll",
        example="20 in",
        gt=0,
        le=3,
        usual=("100 mm", "1100 mm"),
    )
    thickness: float = quantity(
        "thickness",
        "thickness on the roll",
        example="63 gauge",
        gt=0,
        usual=("6 um", "60 um"),
        le=0.002,
    )
    density: float = quantity(
        "density",
        "of the film",
        "918 kg/m^3",
        span=("910 kg/m^3", "925 kg/m^3"),
        placeholder="usual range of linear low density polyethylene",
        ge=500,
        le=2000,
        usual=("870 kg/m^3", "970 kg/m^3"),
    )
    rated_prestretch: float | None = quantity(
        "elongation",
        "the most that the maker allows",
        None,
        example="300 %",
        gt=1,
        le=8,
        usual=("20 %", "450 %"),
    )
    yield_stress: float = quantity(
        "stress",
        "true stress at which drawing begins",
        "9 MPa",
        span=("7 MPa", "11 MPa"),
        placeholder="estimate for cast stretch film; replace it by a tensile test",
        gt=0,
        usual=("3 MPa", "30 MPa"),
        le=1e10,
    )
    hardening_modulus: float = quantity(
        "stress",
        "strain hardening of the drawn film",
        "2.4 MPa",
        span=("1.5 MPa", "2.5 MPa"),
        placeholder="estimate for cast stretch film; replace it by a tensile test",
        gt=0,
        usual=("0.2 MPa", "20 MPa"),
        le=1e10,
    )
    extensibility: float = quantity(
        "ratio",
        "limit of the network's stretch (Jm)",
        "80",
        span=("60", "120"),
        placeholder="estimate for cast stretch film; replace it by a tensile test",
        ge=2,
        usual=("10", "1000"),
        le=1e6,
    )
    elastic_modulus: float = quantity(
        "stress",
        "stiffness before drawing",
        "150 MPa",
        span=("100 MPa", "250 MPa"),
        placeholder="estimate for cast stretch film; replace it by a tensile test",
        gt=0,
        usual=("20 MPa", "1000 MPa"),
        le=1e12,
    )
    reload_modulus: float = quantity(
        "stress",
        "stiffness of stretched film",
        "400 MPa",
        span=("150 MPa", "600 MPa"),
        placeholder="estimate; calibrate it by weighing film cut off a load",
        gt=0,
        usual=("50 MPa", "2000 MPa"),
        le=1e12,
    )
    force_loss_per_decade: float = quantity(
        "fraction",
        "share of force lost in each tenfold of time, at 23 degC",
        "0.056",
        span=("0.045", "0.075"),
        placeholder="two-point fit to 26 % lost in 30 days at 23 degC; early loss is larger",
        ge=0,
        le=0.3,
        usual=("0.5 %", "15 %"),
    )
    temperature: float = quantity(
        "temperature",
        "of the film while it is drawn and laid; the moduli are those at 23 degC",
        "23 degC",
        span=("15 degC", "30 degC"),
        placeholder="usual range of a hall; film from a cold store is colder",
        ge=253.15,
        le=333.15,
        usual=("-5 degC", "45 degC"),
    )
    softening: float = quantity(
        "fraction",
        "share of its stress that film loses for each kelvin above 23 degC",
        "1 %",
        span=("0.6 %", "1.6 %"),
        placeholder="polyethylene's yield stress falls to nothing near its melting point",
        ge=0,
        le=0.03,
        usual=("0.2 %", "2.5 %"),
    )
    width_loss: float | None = quantity(
        "ratio",
        "width that each edge loses over the gap, from one measured width; the law's if left out",
        None,
        ge=0,
        le=5,
        usual=("0.02", "2"),
    )
    width_loss_prestretch: float | None = quantity(
        "elongation",
        "pre-stretch at which that width was measured",
        None,
        gt=1,
        le=8,
        usual=("20 %", "450 %"),
    )
    neck_down_error: float = quantity(
        "ratio",
        "how far neck-down lies from the law's, in its standard uncertainties",
        "0",
        span=("-1.645", "1.645"),
        placeholder="nobody measured a width: the law of neck-down may be off by this",
        nature="deviation",
        ge=-5,
        le=5,
        usual=("-3", "3"),
    )
    roll_mass: float = quantity(
        "mass",
        "film on a full roll, without its core",
        "17 kg",
        span=("14 kg", "20 kg"),
        placeholder="usual machine roll; read it off the label",
        gt=0,
        usual=("1 kg", "60 kg"),
        le=2000,
    )
    price: Money | None = quantity(
        "money/kg", "of the film", None, example="2.2 USD/kg", usual=("0.7 USD/kg", "10 USD/kg")
    )
    elongation_at_break: float | None = quantity(
        "elongation",
        "along the machine direction, from a tensile test",
        None,
        gt=1,
        le=20,
        usual=("100 %", "1200 %"),
    )
    test_elongations: tuple[float, ...] | None = quantity(
        "elongation",
        "points of a tensile test, instead of the four moduli above",
        None,
        usual=("0 %", "1200 %"),
        each=(1.0, 100.0),
        max_length=10_000,
    )
    test_stresses: tuple[float, ...] | None = quantity(
        "stress",
        "force over unstretched section at those points",
        None,
        usual=("0 MPa", "150 MPa"),
        each=(0.0, 1e10),
        max_length=10_000,
    )

    @model_validator(mode="after")
    def _points_in_pairs(self) -> Self:
        if (self.test_elongations is None) != (self.test_stresses is None):
            raise ValueError(say("test_elongations and test_stresses together, or neither"))
        return self

    @model_validator(mode="after")
    def _width_loss_in_pairs(self) -> Self:
        if (self.width_loss is None) != (self.width_loss_prestretch is None):
            raise ValueError(say("width_loss and width_loss_prestretch together, or neither"))
        return self

    @model_validator(mode="after")
    def _stiff_before_drawing(self) -> Self:
        least = LEAST_ELASTIC * (self.yield_stress + self.hardening_modulus)
        is_stated = self.test_elongations is None and "elastic_modulus" in self.model_fields_set
        if is_stated and self.elastic_modulus < least:
            raise ValueError(
                say(
                    "elastic_modulus (of film that is not stretched yet) {times:g} times"
                    " yield_stress and hardening_modulus together or more, here {least}",
                    times=LEAST_ELASTIC,
                    least=show(least, "stress"),
                )
            )
        return self

    def unused(self) -> frozenset[str]:
        if self.test_elongations is None:
            return frozenset()
        return frozenset(("yield_stress", "hardening_modulus", "extensibility", "elastic_modulus"))

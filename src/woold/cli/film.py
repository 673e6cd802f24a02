"""`woold film`: a film's curve from a tensile test."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.text import Text

from woold.carriages.film_fit_rows import film_fit_blocks
from woold.carriages.film_test import fit_film
from woold.carriages.tensile_file import Specimen, read_tensile_test
from woold.cli.blocks import print_blocks
from woold.cli.files import NO_PICTURE, PictureFile
from woold.cli.option_groups import grouped_options
from woold.cli.output import (
    JsonFlag,
    Units,
    console,
    new_app,
    print_cautions,
    print_findings,
    print_json,
)
from woold.physics.tensile_test import FIT_FROM
from woold.rows.wording import Wording
from woold.units import parse_quantity
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["app"]

app = new_app("Films: fit a curve to a tensile test.")


@app.callback()
def film_command() -> None:
    """Films: fit a curve to a tensile test."""


@dataclass(frozen=True, slots=True)
class SpecimenOptions:
    """Options for the size of a specimen."""

    width: Annotated[
        str | None, typer.Option("--width", help='Of the specimen, for forces, such as "15 mm".')
    ] = None
    thickness: Annotated[
        str | None, typer.Option("--thickness", help='Likewise, such as "63 gauge".')
    ] = None
    gauge_length: Annotated[
        str | None,
        typer.Option("--gauge-length", help='Between the grips, for extensions, such as "50 mm".'),
    ] = None

    def specimen(self) -> Specimen:
        """The specimen's size, as far as it was given."""
        width, thickness, gauge = self.width, self.thickness, self.gauge_length
        return Specimen(
            None if width is None else parse_quantity(width, "small_length", "--width"),
            None if thickness is None else parse_quantity(thickness, "thickness", "--thickness"),
            None if gauge is None else parse_quantity(gauge, "small_length", "--gauge-length"),
        )


_NO_SIZE = SpecimenOptions()


@app.command()
@grouped_options
def fit(
    path: Annotated[
        str, typer.Argument(metavar="TEST.csv", help="elongation [%], stress [MPa] or force [N].")
    ],
    as_json: JsonFlag = False,
    picture: PictureFile = NO_PICTURE,
    units: Units = "both",
    fit_from: Annotated[
        str | None,
        typer.Option("--from", metavar="ELONGATION", help='Fit from here on, such as "50 %".'),
    ] = None,
    size: SpecimenOptions = _NO_SIZE,
) -> None:
    """Fit a film's curve to a tensile test along the machine direction (ASTM D882)."""
    test = read_tensile_test(path, size.specimen())
    start = FIT_FROM if fit_from is None else parse_quantity(fit_from, "elongation", "--from")
    report = fit_film(test, Path(path).name, start)

    def figure() -> Figure:
        from woold.pictures.film_curve import film_curve_figure

        return film_curve_figure(test, report, units)

    picture.save(figure)
    if as_json:
        print_json(report)
        return
    out = console()
    print_findings(out, report.findings)
    print_blocks(out, film_fit_blocks(report, Wording(units=units)))
    out.print(Text(say("For the case's [film]"), style="bold"))
    print(report.to_toml())
    out.print()
    print_cautions(out, report.cautions)

"""`woold film`: a film's curve from a tensile test."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.text import Text

from woold.carriages.film_fit_rows import film_fit_blocks
from woold.carriages.film_test import fit_film
from woold.carriages.tensile_file import Specimen, TensileTest, read_tensile_test
from woold.case.asked import asked_quantity, confirmed_names
from woold.cli.blocks import print_blocks
from woold.cli.files import NO_PICTURE, PictureFile
from woold.cli.option_groups import grouped_options
from woold.cli.output import (
    AsTyped,
    JsonFlag,
    Units,
    console,
    new_app,
    print_cautions,
    print_findings,
    print_json,
)
from woold.cli.progress import working
from woold.physics.tensile_test import FIT_FROM
from woold.rows.wording import Wording
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

    fit_from: Annotated[
        str | None,
        typer.Option("--from", metavar="ELONGATION", help='Fit from here on, such as "50 %".'),
    ] = None
    as_typed: AsTyped = None

    def read(self, path: str) -> tuple[TensileTest, float]:
        """The test of a specimen of this size, and the elongation from which it drew evenly."""
        given = {
            "specimen_width": self.width,
            "specimen_thickness": self.thickness,
            "gauge_length": self.gauge_length,
            "fit_from": self.fit_from,
        }
        right, _ = confirmed_names(self.as_typed or (), given)
        si = {
            name: None if text is None else asked_quantity(name, text, _OPTIONS[name], right)
            for name, text in given.items()
        }
        start = si.pop("fit_from")
        return read_tensile_test(path, Specimen(*si.values())), FIT_FROM if start is None else start


_OPTIONS = {
    "specimen_width": "--width",
    "specimen_thickness": "--thickness",
    "gauge_length": "--gauge-length",
    "fit_from": "--from",
}
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
    size: SpecimenOptions = _NO_SIZE,
) -> None:
    """Fit a film's curve to a tensile test along the machine direction (ASTM D882)."""
    test, start = size.read(path)
    with working():
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

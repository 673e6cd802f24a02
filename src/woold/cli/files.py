"""Every file that a command writes: never over another one unless asked, and never by half."""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, BinaryIO

import typer

from woold.cli.output import PlotPath
from woold.errors import InputError
from woold.words import say

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["NO_PICTURE", "Force", "PictureFile", "must_be_new", "new_file", "write_file"]

Force = Annotated[bool, typer.Option("--force", help="Replace a file that exists already.")]

_PICTURES = (".svg", ".png", ".pdf")


def must_be_new(paths: Sequence[Path | str], force: bool) -> None:
    """Refuse files that exist, before anything is calculated or written.

    Args:
        paths: files that are to be written.
        force: they may exist.

    Raises:
        InputError: one exists, or is named twice.
    """
    named: set[Path] = set()
    for path in map(Path, paths):
        if path.absolute() in named:
            raise InputError.one(
                str(path), say("named for two results"), say("a file of its own for each"),
                say("Give another name. Nothing was written."),
            )  # fmt: skip
        named.add(path.absolute())
        if path.is_symlink() or path.exists():
            if path.is_dir():
                raise InputError.one(
                    str(path), say("a folder"), say("a file name"), say("Nothing was written.")
                )
            if not force:
                raise _exists(path)


def _exists(path: Path) -> InputError:
    return InputError.one(
        str(path),
        say("a file that exists"),
        say("a new file name, or --force to replace it"),
        say("Nothing was written."),
    )


@contextlib.contextmanager
def new_file(path: Path | str, force: bool) -> Iterator[BinaryIO]:
    """A file to write to, which gets its name when all of it is written.

    Args:
        path: its name.
        force: replace a file of that name.

    Raises:
        InputError: it exists and may not be replaced, or cannot be written.
    """
    target = Path(path)
    must_be_new([target], force)
    target = Path(os.path.realpath(target))
    # A pipe or a device is written to as it is.
    is_plain = target.is_file() or not target.exists()
    part = target.with_name(f".{target.name}.part") if is_plain else target
    try:
        with part.open("wb") as stream:
            yield stream
        if is_plain:
            _put_in_place(part, target, force)
    except FileExistsError:
        raise _exists(Path(path)) from None
    except OSError as error:
        raise InputError.one(
            str(path),
            error.strerror or say("cannot be written"),
            say("a file that can be written"),
            say("Choose another place. Nothing was written."),
        ) from None
    finally:
        if is_plain:
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)


def _put_in_place(part: Path, target: Path, force: bool) -> None:
    """Give the written file its name; of two who write the same name at once, one is refused."""
    if force:
        if target.exists():
            shutil.copymode(target, part)
        os.replace(part, target)
        return
    try:
        os.link(part, target)
    except FileExistsError:
        raise
    except OSError:  # no hard links on this disk
        if target.exists():
            raise FileExistsError from None
        os.replace(part, target)


def write_file(path: Path | str, content: bytes, force: bool) -> None:
    """Write a file, all of it or nothing.

    Raises:
        InputError: it exists and may not be replaced, or cannot be written.
    """
    with new_file(path, force) as stream:
        stream.write(content)


@dataclass(frozen=True, slots=True)
class PictureFile:
    """The picture of a result, if one is asked for; refused before anything is calculated."""

    plot: PlotPath = None
    force: Force = False

    def __post_init__(self) -> None:
        if self.plot is None:
            return
        if Path(self.plot).suffix.lower() not in _PICTURES:
            raise InputError.one(
                "--plot", self.plot, say("a file name ending in .svg, .png or .pdf"),
                say("Rename it."),
            )  # fmt: skip
        must_be_new([self.plot], self.force)

    def save(self, figure: Callable[[], Figure]) -> None:
        """Draw it and write it.

        Args:
            figure: draws it.
        """
        if self.plot is None:
            return
        from woold.pictures.canvas import figure_bytes

        write_file(self.plot, figure_bytes(figure(), Path(self.plot).suffix), self.force)


NO_PICTURE = PictureFile()

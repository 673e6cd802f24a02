"""A file that a page sends inside of a JSON document, and the readers that want it in a folder."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from pydantic import Base64Bytes, BaseModel, Field

from woold.errors import InputError, Problem, WooldError
from woold.words import say

__all__ = ["LARGEST_FILE_BODY", "SentFile", "files_at", "plain_names", "told_without"]

LARGEST_FILE_BODY = 40_000_000
"""Of a request that carries a file, which takes four letters for three of its bytes [bytes]."""

_LONGEST_NAME = 100


class SentFile(BaseModel):
    """A file: its name, and its content in base64."""

    name: str = Field(min_length=1, max_length=255)
    content: Base64Bytes


@contextmanager
def files_at(sent: Sequence[SentFile]) -> Iterator[list[Path]]:
    """Paths under which readers find the files that were sent, as long as it lasts.

    Args:
        sent: the files; no two of one name.

    Raises:
        InputError: two files of one name. What a reader says names a file and no folder of ours.
    """
    names = plain_names(sent)
    with tempfile.TemporaryDirectory(prefix="woold-sent-") as folder:
        paths = [Path(folder) / name for name in names]
        for path, each in zip(paths, sent, strict=True):
            path.write_bytes(each.content)
        with told_without(folder):
            yield paths


def plain_names(sent: Sequence[SentFile]) -> list[str]:
    """Names under which files can stand in one folder.

    Raises:
        InputError: two files of one name.
    """
    names = [_plain_name(each.name) for each in sent]
    twice = {name for name in names if names.count(name) > 1}
    if twice:
        raise InputError.many(
            Problem("files", name, say("names that differ"), say("Rename one of them."))
            for name in sorted(twice)
        )
    return names


@contextmanager
def told_without(folder: Path | str) -> Iterator[None]:
    """What goes wrong meanwhile names files, and no folder of ours."""
    try:
        yield
    except WooldError as error:
        raise type(error).many(_without(each, str(folder)) for each in error.problems) from None


def _plain_name(name: str) -> str:
    """A name that stands in its folder and nowhere else; its ending stays."""
    last = re.split(r"[/\\]", name)[-1]
    plain = re.sub(r"[^\w.()+ -]", "_", last).lstrip(". ")[-_LONGEST_NAME:]
    return plain or "file"


def _without(problem: Problem, folder: str) -> Problem:
    def told(text: str) -> str:
        return text.replace(f"{folder}/", "").replace(folder, "")

    return replace(
        problem,
        field=told(problem.field),
        given=told(problem.given),
        allowed=told(problem.allowed),
        todo=told(problem.todo),
        file=told(problem.file),
    )

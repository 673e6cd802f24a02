"""How a report is made, and the blocks that every kind of report ends with."""

from __future__ import annotations

import hashlib
import inspect
import platform
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from importlib.metadata import version
from pathlib import Path

from woold.case.field_words import about_words, in_field_words
from woold.errors import InputError
from woold.prediction.placeholder_rows import placeholder_rows
from woold.prediction.result import Finding, RestsOn
from woold.report.model import InputHash, Report
from woold.rows.blocks import (
    Block,
    Bullets,
    Cautions,
    Facts,
    Heading,
    Note,
    Paragraph,
    Row,
    Table,
    with_texts,
)
from woold.rows.typeset import Paper
from woold.rows.wording import Wording
from woold.words import language, say, to_say

__all__ = [
    "Making",
    "closing_blocks",
    "file_hash",
    "finding_blocks",
    "finished",
    "layout_options",
    "placeholder_blocks",
    "source_of",
]

_LIBRARIES = ("numpy", "scipy", "matplotlib", "typst")


@dataclass(frozen=True, slots=True)
class Making:
    """How a report is made.

    Args:
        say: its words and numbers.
        made_at: when, with a time zone.
        paper: size of the printed page.
        inputs: what it is made of.
        command: what makes it again.
    """

    say: Wording
    made_at: datetime
    paper: Paper = "a4"
    inputs: tuple[InputHash, ...] = ()
    command: str = ""


def layout_options(
    say: Wording, paper: Paper, made_at: datetime, as_typed: Iterable[str] = ()
) -> list[str]:
    """Options by which a command makes a report again that looks the same.

    Args:
        say: its words and numbers.
        paper: size of the printed page.
        made_at: when, in UTC.
        as_typed: fields that were asked about and are right.
    """
    words = ["--units", say.units, "--paper", paper, "--language", language()]
    words += ["--decimal-comma"] if say.decimal_comma else []
    words += [word for each in as_typed for word in ("--as-typed", each)]
    return [*words, "--time", made_at.isoformat().replace("+00:00", "Z")]


_KINDS = {
    "prediction": to_say("Prediction of a wrapped load"),
    "sheet": to_say("Set-up sheet for the operator"),
    "carriages": to_say("Comparison of two film carriages"),
    "design": to_say("Design of a wrap program"),
    "line": to_say("One carriage for a line"),
    "transport": to_say("Transport of a wrapped load"),
    "trial": to_say("Trial report"),
    "kits": to_say("Spring kits of a line"),
    "recipes": to_say("Recipes of a line"),
    "wear": to_say("Parts and wear of a line"),
    "release": to_say("Which machines first"),
    "watch": to_say("Watch of cycle records"),
    "quote": to_say("What another film carriage may save"),
    "tags": to_say("Tags to print"),
    "film": to_say("A film of the dancer, judged"),
}


def file_hash(path: Path | str) -> InputHash:
    """Name and SHA-256 of a file.

    Raises:
        InputError: it cannot be read.
    """
    path = Path(path)
    try:
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise InputError.one(
            str(path),
            error.strerror or say("cannot be read"),
            say("a file that can be read"),
            say("Check the name."),
        ) from None
    return InputHash(path.name, digest)


def finished(
    kind: str, title: str, blocks: Iterable[Block], making: Making, is_sheet: bool = False
) -> Report:
    """The report of these blocks.

    Args:
        kind: key of `_KINDS`, which names it.
        title: of the case or trial; may be empty.
        blocks: in reading order; cautions are put behind the answer, before the first section.
        making: how it is made.
        is_sheet: one page.
    """
    say = making.say
    told = tuple(_in_words(each, making.command) for each in blocks)
    return Report(
        kind=kind,
        title=title or say("A case without a title"),
        subtitle=say(_KINDS[kind]),
        language=language(),
        made_at=making.made_at,
        paper=making.paper,
        inputs=making.inputs,
        blocks=told if is_sheet else _cautions_by_the_answer(told),
        footer=say(
            "woold {version}, {made}. An estimate: tests decide, local codes and licensed"
            " practice come first.",
            version=version("woold"),
            made=making.made_at.date().isoformat(),
        ),
        page_of=say("page {page} of {pages}", page="{page}", pages="{pages}"),
        is_sheet=is_sheet,
    )


def _in_words(block: Block, command: str) -> Block:
    """A block in which no field goes by its name in a file; a command needs that name."""
    if isinstance(block, Note):
        return Note(about_words(block.about), in_field_words(block.text))
    return with_texts(
        block, lambda text: text if command and command in text else in_field_words(text)
    )


def _cautions_by_the_answer(blocks: tuple[Block, ...]) -> tuple[Block, ...]:
    """Cautions follow the answer, on the first page: nobody reads them behind an appendix."""
    sections = [at for at, each in enumerate(blocks) if isinstance(each, Heading) and at]
    cautions = [each for each in blocks if isinstance(each, Cautions)]
    if not sections or not cautions or blocks.index(cautions[0]) < sections[0]:
        return blocks
    rest = [each for each in blocks if each is not cautions[0]]
    return (*rest[: sections[0]], cautions[0], *rest[sections[0] :])


def finding_blocks(findings: Sequence[Finding], say: Wording) -> list[Block]:
    """A section of findings; nothing where there are none."""
    if not findings:
        return []
    return [Heading(say("Findings")), *(_note(each, say) for each in findings)]


def _note(finding: Finding, say: Wording) -> Note:
    return Note(finding.field, say.sentence(finding.message))


def placeholder_blocks(rests_on: Sequence[RestsOn], say: Wording) -> list[Block]:
    """A section that lists what nobody measured, with its ranges."""
    return [Heading(say("Placeholders")), *placeholder_rows(rests_on, say)]


def closing_blocks(
    making: Making, sources: Iterable[tuple[str, object]], cautions: Sequence[str]
) -> list[Block]:
    """Sources that this run used, how to make the report again, and cautions.

    Args:
        making: how the report is made.
        sources: catalogue keys with what was used: a function whose docstring states its source.
        cautions: what to take care of.
    """
    say = making.say
    cited = tuple(f"{say(key)}: {source_of(used)}" for key, used in sources)
    made_with = [
        Row("woold", version("woold")),
        Row("Python", platform.python_version()),
    ]
    made_with += [Row(name, version(name)) for name in _LIBRARIES]
    return [
        Heading(say("Sources")),
        Paragraph(say("What this run rests on.")),
        Bullets(cited),
        Heading(say("To make this report again")),
        Paragraph(
            say("Run: {command}", command=making.command)
            if making.command
            else say("Take the inputs listed below to the same page.")
        ),
        Facts(say("Made with"), tuple(made_with)),
        Table(
            say("Made of"),
            (say("input"), "SHA-256"),
            tuple((each.name, each.sha256) for each in making.inputs),
            words=(0, 1),
            is_small=True,
        ),
        Cautions(say("Take care"), tuple(say.sentence(say(each)) for each in cautions)),
    ]


def source_of(used: object) -> str:
    """The source that a function's or class's docstring states.

    Raises:
        ValueError: it states none.
    """
    found = re.search(r"^Source:\s*(.*?)(?:\n\n|\Z)", inspect.getdoc(used) or "", re.S | re.M)
    if found is None:
        raise ValueError(f"{used!r} states no source")
    return " ".join(re.sub(r"(:func:)?`+(.*?)`+", r"\2", found[1]).split())

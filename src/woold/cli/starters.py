"""New files to start from, each with its schema beside it, so that editors complete its keys."""

from __future__ import annotations

from pathlib import Path

from woold.case.fields import Section
from woold.case.schema import is_written_here, schema_text
from woold.cli.files import must_be_new, write_file
from woold.cli.output import print_json
from woold.words import say

__all__ = ["Starter", "write_starter"]


class Starter:
    """A kind of file to start from.

    Args:
        name: of the kind, as in "case.schema.json".
        model: what such a file holds.
        title: what it is called.
        text: a commented file.
    """

    def __init__(self, name: str, model: type[Section], title: str, text: str) -> None:
        self.schema_name = f"{name}.schema.json"
        self.schema = schema_text(model, title)
        self.text = text


def write_starter(
    path: str | None, starter: Starter, next_step: str, as_json: bool, force: bool
) -> None:
    """Write a file that names its schema, and the schema beside it; or print the text.

    Args:
        path: file to write; standard output if none.
        starter: what to write.
        next_step: command that takes the file, without its name.
        as_json: say as a document what was written.
        force: replace files that exist.

    Raises:
        InputError: a file that exists already, or cannot be written.
    """
    schema = None
    if path is not None:
        target = Path(path)
        schema = target.with_name(starter.schema_name)
        ours = schema.is_file() and is_written_here(schema.read_bytes())
        must_be_new([target, *([] if ours else [schema])], force)
        content = f"#:schema {starter.schema_name}\n{starter.text}"
        write_file(target, content.encode(), force)
        write_file(schema, starter.schema.encode(), force or ours)
    if as_json:
        from woold.cli.documents import StarterDocument

        beside = None if schema is None else str(schema)
        print_json(StarterDocument(path, beside, starter.text if path is None else None))
    elif path is None:
        print(starter.text, end="")
    else:
        print(say("Wrote {file}. Next: {command}", file=path, command=f"{next_step} {path}"))
        print(say("{file} beside it lets editors complete keys and show units.", file=schema))

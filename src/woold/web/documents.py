"""Answers as typed documents: each says which schema it follows and which woold gave it."""

from __future__ import annotations

import dataclasses
import json
import typing
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler, RootModel, create_model
from pydantic_core import CoreSchema
from starlette.responses import Response

import woold

__all__ = [
    "CaseTable",
    "Document",
    "SentTable",
    "Shaped",
    "Value",
    "document_file",
    "named",
    "shape_of",
]


class Value(RootModel["str | bool | int | float | list[Value] | dict[str, Value] | None"]):
    """What may stand in a case file: text, numbers, lists and tables of them."""


CaseTable = dict[str, Value]
"""The tables of a case file, as they are answered."""

SentTable = dict[str, Any]
"""The tables of a case file, as they are sent: the case says what is wrong with them."""


def named(schema: str) -> Any:
    """The field of a document that holds the schema's name."""
    return Field(schema, alias="schema", description="name of the schema")


class Document(BaseModel):
    """An answer: which schema it follows, and which woold gave it."""

    model_config = ConfigDict(
        ser_json_inf_nan="constants",
        extra="forbid",
        json_schema_serialization_defaults_required=True,
    )

    schema_: str = named("document")
    woold: str = Field(woold.__version__, description="version of woold")


def shape_of(kind: type, renamed: Mapping[str, str] | None = None, **other: Any) -> type[BaseModel]:
    """A model with the fields of a result, filled from an object of that kind.

    What a dataclass does not compare is kept beside its document, and is not sent.

    Args:
        kind: a dataclass or named tuple.
        renamed: names of fields that are sent under another, by their own.
        other: types of fields that are sent otherwise than they stand there.
    """
    hints = typing.get_type_hints(kind)
    names = (
        [each.name for each in dataclasses.fields(kind) if each.compare]
        if dataclasses.is_dataclass(kind)
        else list(kind._fields)  # type: ignore[attr-defined]
    )
    sent_as = renamed or {}
    fields: dict[str, Any] = {
        sent_as.get(name, name): (other.get(name, hints[name]), Field(validation_alias=name))
        for name in names
    }
    return create_model(
        "".join((kind.__name__, *(each.title().replace("_", "") for each in sent_as.values()))),
        __doc__=kind.__doc__,
        __config__=ConfigDict(from_attributes=True, ser_json_inf_nan="constants"),
        **fields,
    )


@dataclasses.dataclass(frozen=True, slots=True)
class Shaped:
    """Beside a result's type in a document: the result is sent in that shape.

    Args:
        shape: made by :func:`shape_of`.
    """

    shape: type[BaseModel]

    def __get_pydantic_core_schema__(
        self, _source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return handler.generate_schema(self.shape)


def document_file(document: Mapping[str, Any]) -> Response:
    """A document of the terminal as a file to take away.

    Args:
        document: as `to_dict()` of a result gives it.
    """
    text = json.dumps(document, indent=2, ensure_ascii=False) + "\n"
    headers = {"content-disposition": f'attachment; filename="{document["schema"]}.json"'}
    return Response(text, media_type="application/json", headers=headers)

"""JSON Schema of settings files, so that editors complete keys and show units.

A schema knows keys, choices, lists and that a quantity is text with a unit. It does not judge
values: that a unit fits and a value lies within its limits is said by whatever reads the file.
"""

from __future__ import annotations

import json
from typing import Any

from woold.case.fields import FieldFacts, Section
from woold.case.usual import usual_text
from woold.units import KINDS
from woold.words import say, to_say

__all__ = ["file_schema", "schema_text"]

_DRAFT = "http://json-schema.org/draft-07/schema#"
_NUMBER = r"^\s*[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d{1,3})?"
_OURS = "woold makes this file anew with each file to start from"
_NAME = {"type": "string", "pattern": "^@", "examples": ["@thin film"]}
_MONEY = {
    "money/kg": (to_say("Money per mass."), "2.2 USD/kg"),
    "money/s": (to_say("Money per time."), "45 EUR/h"),
    "money": (to_say("Money."), "18000 USD"),
}


def schema_text(model: type[Section], title: str) -> str:
    """The schema of a file as JSON text.

    Args:
        model: what the file holds.
        title: what the file is called.
    """
    return json.dumps(file_schema(model, title), indent=2, ensure_ascii=False) + "\n"


def file_schema(model: type[Section], title: str) -> dict[str, Any]:
    """The schema of a file: its tables, and each kind of quantity that they hold.

    Args:
        model: what the file holds.
        title: what the file is called.
    """
    found = model.model_json_schema()
    tables = {name: each for name, each in found.pop("$defs", {}).items() if name != "Money"}
    kinds: set[str] = set()
    root = _table(found, kinds)
    for name in model.may_be_named:
        root["properties"][name] = {"anyOf": [root["properties"][name], _NAME]}
    if model.may_be_named:
        # A machine that is named may bring its carriage.
        root["required"] = [each for each in root["required"] if each != "carriage"]
    definitions = {name: _table(each, kinds) for name, each in sorted(tables.items())}
    definitions |= {_name(kind): _quantity(kind) for kind in sorted(kinds)}
    definitions["origin"] = _with_origin({})
    head = {"$schema": _DRAFT, "$comment": _OURS}
    return {**head, **root, "title": title, "definitions": definitions}


def is_written_here(text: bytes) -> bool:
    """Whether a file is a schema that woold wrote, in any version and language."""
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return False
    return isinstance(found, dict) and found.get("$comment") == _OURS


def _table(found: dict[str, Any], kinds: set[str]) -> dict[str, Any]:
    """A table of the file: keys with what may stand there."""
    fields = {name: _field(each, kinds) for name, each in found["properties"].items()}
    table: dict[str, Any] = {
        "type": "object",
        "description": say(found.get("description", "").partition("\n")[0]),
        "properties": fields,
        "additionalProperties": False,
    }
    if found.get("required"):
        table["required"] = found["required"]
    return table


def _field(found: dict[str, Any], kinds: set[str]) -> dict[str, Any]:
    facts = found.get("facts") or {}
    kind = facts.get("kind", "")
    if kind:
        kinds.add(kind)
    made = _shape(found, kind)
    if not kind and made.get("type") in ("number", "integer"):
        made = {"anyOf": [made, {"$ref": "#/definitions/origin"}]}
    about = say(facts["doc"]) if facts.get("doc") else ""
    usual = usual_text(FieldFacts(**facts)) if facts else ""
    if usual:
        about = say("{what}; usual {range}", what=about, range=usual)
    if facts.get("placeholder"):
        reason = say(facts["placeholder"])
        about = say("{what} (placeholder: {reason})", what=about, reason=reason)
    if not about:
        return made
    # A reference takes nothing beside it in this draft.
    return {"description": about, **({"allOf": [made]} if "$ref" in made else made)}


def _shape(found: dict[str, Any], kind: str) -> dict[str, Any]:
    """What may stand in a field: a quantity wherever the model has a number of its kind."""
    if "anyOf" in found:
        choices = [each for each in found["anyOf"] if each.get("type") != "null"]
        if len(choices) == 1:
            return _shape(choices[0], kind)
        return {"anyOf": [_shape(each, kind) for each in choices]}
    if "$ref" in found:
        name = found["$ref"].rpartition("/")[2]
        return {"$ref": f"#/definitions/{_name(kind) if name == 'Money' else name}"}
    if kind and found.get("type") in ("number", "integer"):
        return {"$ref": f"#/definitions/{_name(kind)}"}
    if found.get("type") == "array":
        inner = found.get("prefixItems", found.get("items", {}))
        one_or_each = (
            [_shape(each, kind) for each in inner]
            if isinstance(inner, list)
            else _shape(inner, kind)
        )
        limits: dict[str, Any] = {
            name: found[name] for name in ("minItems", "maxItems") if name in found
        }
        return {"type": "array", "items": one_or_each, **limits}
    if found.get("format") == "date":
        return {}  # TOML has dates of its own
    kept = ("type", "enum", "const", "minLength", "maxLength", "minimum", "maximum")
    return {name: found[name] for name in kept if name in found}


def _name(kind: str) -> str:
    """Name of a kind's definition; a slash would mean something else in a reference."""
    return kind.replace("/", "_per_")


def _quantity(kind: str) -> dict[str, Any]:
    """A quantity as text, or as a table that also says where it came from."""
    if kind in _MONEY:
        about, example = _MONEY[kind]
        text = {"type": "string", "pattern": _NUMBER, "examples": [example]}
        return _with_origin(text) | {"description": say(about)}
    known = KINDS[kind]
    text = {"type": "string", "pattern": _NUMBER, "examples": list(known.examples)}
    examples = ", ".join(f'"{each}"' for each in known.examples)
    about = say("{kind}, as text: {examples}", kind=say(known.name), examples=examples)
    number = [{"type": "number"}] if kind in ("ratio", "fraction") else []
    made = _with_origin(text)
    return {"description": about, "anyOf": [*made["anyOf"][:1], *number, *made["anyOf"][1:]]}


def _with_origin(value: dict[str, Any]) -> dict[str, Any]:
    """A value, or a table with it, where it came from and how far it may be off."""
    keys = {"value": value, "origin": {"type": "string"}, "low": value, "high": value}
    table = {
        "type": "object",
        "properties": keys,
        "required": ["value", "origin"],
        "additionalProperties": False,
    }
    return {"anyOf": [value, table]} if value else table

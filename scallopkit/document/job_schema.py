"""What a job file may hold, as a JSON Schema, for editors that check while one types.

https://json-schema.org/draft/2020-12
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from .job_keys import JOB_KEYS, TABLES, Key, Takes

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_TEXT: Mapping[str, Any] = {"type": "string"}
_VALUE: Mapping[str, Any] = {"type": ["string", "number"]}


def job_schema() -> dict[str, Any]:
    """The schema of a job file; its tables lie under `$defs`."""
    return {
        "$schema": _DRAFT,
        "title": "scallopkit job",
        "description": "Drawings, the runs on them and where the results go.",
        **_table(JOB_KEYS),
        "$defs": {name: _table(keys) for name, keys in TABLES.items() if keys is not JOB_KEYS},
    }


def _table(keys: Mapping[str, Key]) -> dict[str, Any]:
    required = [name for name, key in keys.items() if key.required]
    return {
        "type": "object",
        "properties": {name: _key(key) for name, key in keys.items()},
        **({"required": required} if required else {}),
        "additionalProperties": False,
    }


def _key(key: Key) -> dict[str, Any]:
    example = {} if key.example is None else {"examples": [key.example]}
    return {"description": key.what, **_value(key), **example}


def _value(key: Key) -> dict[str, Any]:
    """What may stand for a key."""
    table = {"$ref": f"#/$defs/{key.of}"}
    shapes: dict[Takes, dict[str, Any]] = {
        Takes.TEXT: {**_TEXT, **({"enum": list(key.words)} if key.words else {})},
        Takes.VALUE: dict(_VALUE),
        Takes.VALUES: {"anyOf": [_VALUE, _list(_VALUE)]},
        Takes.TEXTS: {"anyOf": [_TEXT, _list(_TEXT)]},
        Takes.NAMES: {"anyOf": [_TEXT, _list(_TEXT)]},
        Takes.HOLDS: {"anyOf": [_TEXT, _list(_TEXT), {"type": "object", "additionalProperties": _TEXT}]},
        Takes.SWITCH: {"type": "boolean"},
        Takes.FILE: {**_TEXT, "minLength": 1},
        Takes.TABLE: table,
        Takes.TABLES: _list(table),
        Takes.ROWS: {"anyOf": [_TEXT, _list({"anyOf": [_TEXT, table]})]},
        Takes.DRAWINGS: {"anyOf": [{**_TEXT, "minLength": 1}, _list(table)]},
    }
    return shapes[key.takes]


def _list(entries: Mapping[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": entries, "minItems": 1}

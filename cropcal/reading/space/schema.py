"""The JSON Schema of space.toml, made from the records that read it: editors complete the file with it."""

from typing import Any

from cropcal.reading.text.toml_mistakes import MANY, SINGLE
from cropcal.records.base import Record

DIALECT = "https://json-schema.org/draft/2020-12/schema"
FILLED_IN = {"plan": ("start",)}
"""Keys that a record needs and the reader fills in."""


def space_schema() -> dict[str, Any]:
    """Return the schema of a whole space file.

    It knows tables, keys, kinds and bounds; what has to agree between tables is ``cropcal check``'s.
    """
    shared: dict[str, Any] = {}
    tables = {name: _table(name, record, shared) for name, record in {**SINGLE, **MANY}.items()}
    many = {name: {"type": "array", "items": tables[name]} for name in MANY}
    return {
        "$schema": DIALECT,
        "title": "space.toml: a growing space for cropcal",
        "type": "object",
        "additionalProperties": False,
        "properties": {name: many.get(name, table) for name, table in tables.items()},
        "$defs": shared,
    }


def _table(name: str, record: type[Record], shared: dict[str, Any]) -> dict[str, Any]:
    form = record.model_json_schema(by_alias=True)
    shared |= {key: _plain(value) for key, value in form.pop("$defs", {}).items()}
    needed = [key for key in form.get("required", ()) if key not in FILLED_IN.get(name, ())]
    plain: dict[str, Any] = _plain(form)
    plain.pop("required", None)
    return plain | ({"required": needed} if needed else {})


def _plain(form: Any) -> Any:
    """Return a form without made-up titles, and without what stands for a key or table left out."""
    if isinstance(form, list):
        return [_plain(part) for part in form]
    if not isinstance(form, dict):
        return form
    left_out = form.get("default", ...) is None or isinstance(form.get("default"), dict)
    kept = {
        key: {name: _plain(item) for name, item in value.items()} if key == "properties" else _plain(value)
        for key, value in form.items()
        if not (key == "title" and isinstance(value, str)) and not (key == "default" and left_out)
    }
    kinds = [kind for kind in kept.get("anyOf", ()) if kind != {"type": "null"}]
    if len(kinds) == 1:
        del kept["anyOf"]
        return kept | kinds[0]
    return kept

"""A value as it is written in TOML."""

import json
from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any


def toml_value(value: Any) -> str:
    """Return a value as TOML: text, numbers, true or false, days, lists and tables of these.

    Raises
    ------
    ValueError
        If TOML has no form for it.
    """
    match value:
        case bool():
            return "true" if value else "false"
        case int() | float():
            return f"{value}"
        case str():
            return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
        case datetime() if value.time() == time() and value.tzinfo is None:
            return value.date().isoformat()
        case date() | time():
            return value.isoformat()
        case list() | tuple():
            return f"[{', '.join(map(toml_value, value))}]"
        case Mapping():
            pairs = (f"{json.dumps(str(key))} = {toml_value(item)}" for key, item in value.items())
            return "{" + ", ".join(pairs) + "}"
    plain = getattr(value, "item", None)  # numpy's numbers
    if callable(plain):
        return toml_value(plain())
    message = f"found {type(value).__name__} {value!r}, expected a text, number, day, list or table"
    raise ValueError(message)

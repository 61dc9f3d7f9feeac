"""What the value of a key may be: its type, bounds and choices, taken from the fields of the records."""

import types
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from cropcal.records.base import DayStretch, MinuteOfDay
from cropcal.records.values import SiteNumbers

Sort = Literal[
    "number",
    "whole",
    "text",
    "yes or no",
    "choice",
    "date",
    "site numbers",
    "time",
    "stretch",
    "pair",
    "one for all or each",
    "one for all or by name",
    "list",
    "table",
]
_SORTS: dict[object, Sort] = {float: "number", int: "whole", str: "text", bool: "yes or no", date: "date"}


@dataclass(frozen=True)
class KeyType:
    """The sort of a value, with its bounds, its choices, the type of its items, or the record it fills."""

    sort: Sort
    gt: float | None = None
    ge: float | None = None
    lt: float | None = None
    le: float | None = None
    longest: int | None = None
    choices: tuple[str, ...] = ()
    item: "KeyType | None" = None
    count: int | None = None
    record: type[BaseModel] | None = None

    def allows(self, value: float) -> bool:
        """Return whether a number is within the bounds."""
        return (
            (self.gt is None or value > self.gt)
            and (self.ge is None or value >= self.ge)
            and (self.lt is None or value < self.lt)
            and (self.le is None or value <= self.le)
        )

    def inside(self, path: Iterable[str | int]) -> "KeyType | None":
        """Return the kind of a value inside this one; None where nothing is known."""
        kind: KeyType | None = self
        for part in path:
            if kind is None:
                return None
            if isinstance(part, int) or kind.sort == "one for all or by name":
                kind = kind.item
            else:
                kind = fields(kind.record).get(part) if kind.record else None
        return kind


@cache
def fields(record: type[BaseModel]) -> dict[str, KeyType]:
    """Return the keys a record takes, as they are written in a file, and the kind of each."""
    return {
        field.alias or name: _bounded(kind_of(field.annotation), field.metadata)
        for name, field in record.model_fields.items()
    }


def kind_of(annotation: Any) -> KeyType:
    """Return what a type annotation lets a value be."""
    if annotation == DayStretch:
        return KeyType("stretch", item=KeyType("time"))
    if annotation == SiteNumbers:
        return KeyType("site numbers")
    if annotation == MinuteOfDay:
        return KeyType("time")
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return _bounded(kind_of(arguments[0]), arguments[1:])
    if origin in (Union, types.UnionType):
        return kind_of(next(argument for argument in arguments if argument is not type(None)))
    if origin is Literal:
        return KeyType("choice", choices=tuple(map(str, arguments)))
    if origin is tuple:
        item, sized = kind_of(arguments[0]), arguments[-1] is not Ellipsis
        if sized and len(arguments) > 2:
            return KeyType("one for all or each", item=item, count=len(arguments))
        return KeyType("pair" if sized else "list", item=item)
    if origin is dict:
        return KeyType("one for all or by name", item=kind_of(arguments[1]))
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return KeyType("table", record=annotation)
    return KeyType(_SORTS[annotation])


def _bounded(kind: KeyType, metadata: Iterable[Any]) -> KeyType:
    """Return a type with the bounds of its annotations."""
    for mark in metadata:
        if isinstance(mark, FieldInfo):
            kind = _bounded(kind, mark.metadata)
        limits = {name: getattr(mark, name) for name in ("gt", "ge", "lt", "le") if hasattr(mark, name)}
        kind = replace(kind, **limits) if limits else kind
        kind = replace(kind, longest=mark.max_length) if hasattr(mark, "max_length") else kind
    return kind

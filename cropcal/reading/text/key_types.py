"""What the value of a key may be: its type, bounds and choices, read off the records' own fields."""

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
    "list",
    "table",
]
_SORTS: dict[object, Sort] = {float: "number", int: "whole", str: "text", bool: "yes or no", date: "date"}


@dataclass(frozen=True)
class Kind:
    """The sort of a value, its bounds, its choices, what it is a list of, or which record it fills."""

    sort: Sort
    gt: float | None = None
    ge: float | None = None
    lt: float | None = None
    le: float | None = None
    longest: int | None = None
    choices: tuple[str, ...] = ()
    item: "Kind | None" = None
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

    def inside(self, path: Iterable[str | int]) -> "Kind | None":
        """Return the kind of a value inside this one; None where nothing is known."""
        kind: Kind | None = self
        for part in path:
            if kind is None:
                return None
            if isinstance(part, int):
                kind = kind.item
            else:
                kind = fields(kind.record).get(part) if kind.record else None
        return kind


@cache
def fields(record: type[BaseModel]) -> dict[str, Kind]:
    """Return the keys a record takes, as they are written in a file, and the kind of each."""
    return {
        field.alias or name: _bounded(kind_of(field.annotation), field.metadata)
        for name, field in record.model_fields.items()
    }


def kind_of(annotation: Any) -> Kind:
    """Return what a type annotation lets a value be."""
    if annotation == DayStretch:
        return Kind("stretch", item=Kind("time"))
    if annotation == SiteNumbers:
        return Kind("site numbers")
    if annotation == MinuteOfDay:
        return Kind("time")
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return _bounded(kind_of(arguments[0]), arguments[1:])
    if origin in (Union, types.UnionType):
        return kind_of(next(one for one in arguments if one is not type(None)))
    if origin is Literal:
        return Kind("choice", choices=tuple(map(str, arguments)))
    if origin is tuple:
        item, sized = kind_of(arguments[0]), arguments[-1] is not Ellipsis
        if sized and len(arguments) > 2:
            return Kind("one for all or each", item=item, count=len(arguments))
        return Kind("pair" if sized else "list", item=item)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return Kind("table", record=annotation)
    return Kind(_SORTS[annotation])


def _bounded(kind: Kind, metadata: Iterable[Any]) -> Kind:
    """Add the bounds that stand beside a type."""
    for mark in metadata:
        if isinstance(mark, FieldInfo):
            kind = _bounded(kind, mark.metadata)
        found = {name: getattr(mark, name) for name in ("gt", "ge", "lt", "le") if hasattr(mark, name)}
        kind = replace(kind, **found) if found else kind
        kind = replace(kind, longest=mark.max_length) if hasattr(mark, "max_length") else kind
    return kind

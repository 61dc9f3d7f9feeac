"""SVG and HTML elements of the page, with all text escaped."""

from html import escape

from cropcal.show.text import clean

Value = str | float | int | bool | None


class Markup(str):
    """Text that is markup already: templates and :func:`element` put it in as it is."""

    __slots__ = ()

    def __html__(self) -> str:
        """Return itself: the sign by which templates know that nothing is to be escaped."""
        return str(self)


def element(name: str, /, *children: str, **attributes: Value) -> Markup:
    """Return an element; plain text in it is escaped, markup is not.

    Attributes are named as in Python: ``class_`` is class, ``aria_label`` is aria-label. One that is None
    or False is left out, one that is True has no value.
    """
    written = "".join(
        f" {key.rstrip('_').replace('_', '-')}" + ("" if value is True else f'="{_attribute(value)}"')
        for key, value in attributes.items()
        if value is not None and value is not False
    )
    return Markup(f"<{name}{written}>{joined(*children)}</{name}>")


def joined(*parts: str) -> Markup:
    """Return parts one after the other; plain text among them is escaped."""
    return Markup("".join(part if isinstance(part, Markup) else escape(clean(part)) for part in parts))


def rect(x: Value, y: Value, width: Value, height: Value, class_: str, **more: Value) -> Markup:
    """Return a rectangle; a place may be a share of the picture, like "12.5%"."""
    return element("rect", x=x, y=y, width=width, height=height, class_=class_, **more)


def line(x1: Value, y1: Value, x2: Value, y2: Value, class_: str, **more: Value) -> Markup:
    """Return a straight line."""
    return element("line", x1=x1, y1=y1, x2=x2, y2=y2, class_=class_, **more)


def words(x: Value, y: Value, content: str, class_: str = "", **more: Value) -> Markup:
    """Return one line of text."""
    return element("text", content, x=x, y=y, class_=class_ or None, **more)


def percent(share: float) -> str:
    """Return a share of the width."""
    return f"{_number(100 * share)}%"


def _attribute(value: str | float | int) -> str:
    return escape(clean(value)) if isinstance(value, str) else _number(value)


def _number(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")

"""Make HTML of the pages. What users typed is escaped, whatever it is; the look is that of report.html."""

from functools import cache
from importlib import resources
from typing import Any

import jinja2

from cropcal.show import text

TEMPLATES = "serve/templates"
REPORT_STYLE = "show/page/templates/page.css"
"""The colours, type and tables of the report; the pages add their own on top."""


def page(name: str, **values: Any) -> str:
    """Return a page by the name of its template."""
    return _environment().get_template(f"{name}.html").render(**values)


@cache
def style() -> str:
    """Return the style sheet of all pages."""
    return _read(REPORT_STYLE) + "\n" + _read(f"{TEMPLATES}/serve.css")


@cache
def script() -> str:
    """Return the script of all pages; without it everything works too, page by page."""
    return _read(f"{TEMPLATES}/serve.js")


@cache
def icon() -> str:
    """Return the picture of a leaf that a browser shows beside the title."""
    return _read(f"{TEMPLATES}/icon.svg")


@cache
def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.FunctionLoader(lambda name: _read(f"{TEMPLATES}/{name}")),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["one_line"] = text.clean
    return environment


def _read(path: str) -> str:
    return resources.files("cropcal").joinpath(path).read_text(encoding="utf-8")

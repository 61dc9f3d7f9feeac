"""Make HTML of the pages. What users typed is escaped, whatever it is; the look is that of report.html."""

from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

import jinja2
from starlette.requests import Request
from starlette.responses import HTMLResponse

from cropcal.season import clock
from cropcal.serve.forms import Tokens
from cropcal.serve.home.links import Home
from cropcal.serve.notes import Answered, Desk
from cropcal.serve.planner import Planner
from cropcal.serve.security import MAY_WRITE, Doors
from cropcal.show import text

TEMPLATES = "serve/templates"
REPORT_STYLE = "show/page/templates/page.css"
"""The colours, type and tables of the report; the pages add their own on top."""


@dataclass(frozen=True)
class Served:
    """What all requests share: the space's folder, the desk for notes, the planner, the tokens, the doors.

    ``home`` is None where the space is served to this computer alone.
    """

    path: Path
    desk: Desk
    planner: Planner
    tokens: Tokens
    doors: Doors
    home: Home | None = None


def page(served: Served, request: Request, name: str, status: int = 200, **values: Any) -> HTMLResponse:
    """Return a page by the name of its template, with what came of the form that led to it."""
    html = (
        _environment()
        .get_template(f"{name}.html")
        .render(
            may_write=bool(request.scope.get(MAY_WRITE)),
            token=served.tokens.new,
            outcome=served.desk.answered(request.query_params.get("of", "")) or Answered(),
            today=clock.today().isoformat(),
            making=served.planner.progress(),
            is_at_home=served.home is not None,
            **values,
        )
    )
    return HTMLResponse(html, status)


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

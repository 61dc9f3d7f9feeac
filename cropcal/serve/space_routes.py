"""The addresses of the form of the space: look at it, change it, try it, keep it, put it back."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from cropcal.season import clock
from cropcal.serve.comparing import Comparer
from cropcal.serve.pages import Served, page
from cropcal.serve.space_cards import card_id
from cropcal.serve.space_desk import SpaceDesk
from cropcal.serve.space_page import space_form
from cropcal.serve.space_typed import Said


@dataclass(frozen=True)
class SpaceForms:
    """The desk for forms of the space, and what compares a trial with what is."""

    desk: SpaceDesk
    comparer: Comparer

    @classmethod
    def of(cls, path: Path, comparer: Comparer | None = None) -> "SpaceForms":
        """Return those of a space."""
        return cls(SpaceDesk(path), comparer or Comparer(path))


def space_page(forms: SpaceForms, served: Served, request: Request) -> Response:
    """Return the page of the space."""
    said = forms.desk.answered(request.query_params.get("of", "")) or Said()
    text, base = forms.desk.text()
    view = space_form(text, forms.desk.tables(), clock.today(), said.tried)
    return page(
        served,
        request,
        "space",
        here="space",
        view=view,
        said=said,
        base=base,
        trial=forms.desk.trial(),
        stale=forms.desk.is_stale(),
        comparison=forms.comparer.progress(),
    )


def space_state(forms: SpaceForms) -> Response:
    """Return how far a comparison is."""
    now = forms.comparer.progress()
    return JSONResponse({"stage": now.stage, "spent_s": round(now.spent_s), "trials": 0})


def space_do(forms: SpaceForms, what: str, fields: Mapping[str, str], token: str) -> str:
    """Do what a form of the space wants, and return the page that it leads to."""
    keep = fields.get("do") != "try"
    before = forms.desk.trial()
    mark = ""
    if what == "change":
        said = forms.desk.change(token, fields, keep=keep)
        mark = f"#{card_id(said.tried.at)}" if said.tried else ""
    elif what == "out":
        forms.desk.take_out(token, fields, keep=keep)
    elif what == "keep":
        forms.desk.keep(token)
    elif what == "drop":
        forms.desk.drop(token)
    elif what == "back":
        forms.desk.back(token, fields)
    trial = forms.desk.trial()
    if trial is None:
        forms.comparer.drop()
    elif before is None or trial.text != before.text:
        forms.comparer.begin(trial.text, clock.today())
    return f"/space?{urlencode({'of': token})}{mark}"

"""The routes: pages are read with GET, and what a form wants is done with POST, which leads to a page."""

import shlex
from collections.abc import Mapping
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from cropcal.reading.journal.event_words import LOGGED_EVENTS
from cropcal.records.journal import Journal
from cropcal.season import clock
from cropcal.season.beside import noted
from cropcal.season.errors import SpaceError
from cropcal.season.load import PLAN_FOLDER, fingerprint, folder_of
from cropcal.season.log_words import Options
from cropcal.serve import pages
from cropcal.serve.forms import BadFormError, Tokens, day_in, fields_of
from cropcal.serve.home import pages as home_pages
from cropcal.serve.home.links import Home
from cropcal.serve.journal_page import journal_page
from cropcal.serve.notes import Desk, are_taken_back, job_is_noted
from cropcal.serve.pages import Served, page
from cropcal.serve.planner import Planner
from cropcal.serve.security import CALENDAR, ENTRANCE, AsgiApp, Doors, Guard
from cropcal.serve.week_page import find_job, week_page

REPORT = "report.html"
REPORT_POLICY = (
    "sandbox allow-scripts; default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; "
    "form-action 'none'; base-uri 'none'; frame-ancestors 'self'"
)
"""The report is a file, which anybody may have written. So it gets no origin: whatever script it has can
neither read a page of ours nor send a form. Its own policy, inside the file, lets only its own script run."""
KEPT = "The new plan is kept. The one before it is in plan/previous.json."
NOT_OURS = "This form is not one of these pages, or of a server that has ended. Nothing was written."
PLAN_CHANGED = "The plan was changed meanwhile, and this job is not in it any more. Nothing was written."


def application(
    path: Path, doors: Doors, planner: Planner | None = None, home: Home | None = None
) -> AsgiApp:
    """Return the ASGI application that serves a space, behind its guard; ``home`` if to phones too."""
    served = Served(path, Desk(path), planner or Planner(path), Tokens(), doors, home)
    inner = Starlette(
        routes=[
            Route("/", _view(served, _week), name="week"),
            Route("/journal", _view(served, _journal)),
            Route("/plan", _view(served, _plan)),
            Route(f"/plan/{REPORT}", _view(served, _report)),
            Route("/again", _view(served, _again)),
            Route("/again/state", _view(served, _again_state)),
            Route("/page.css", lambda _request: Response(pages.style(), media_type="text/css")),
            Route("/icon.svg", lambda _request: Response(pages.icon(), media_type="image/svg+xml")),
            Route("/page.js", lambda _request: Response(pages.script(), media_type="text/javascript")),
            Route("/tick", _action(served, _tick), methods=["POST"]),
            Route("/note", _action(served, _note), methods=["POST"]),
            Route("/undo", _action(served, _undo), methods=["POST"]),
            Route("/done", _action(served, _done), methods=["POST"]),
            Route("/correct", _action(served, _correct), methods=["POST"]),
            Route("/again/{what:str}", _action(served, _again_do), methods=["POST"]),
            *(_home_routes(served) if home else []),
        ]
    )
    inner.router.redirect_slashes = False  # an unknown address is answered with 404, whatever it is
    return Guard(inner, doors)


def _home_routes(served: Served) -> list[Route]:
    """Return the routes that are there with ``--home`` alone."""
    return [
        Route(ENTRANCE, _view(served, home_pages.entrance)),
        Route(ENTRANCE, _action(served, home_pages.let_in), methods=["POST"]),
        Route("/phones", _view(served, home_pages.phones)),
        Route("/phones", _action(served, home_pages.new_code), methods=["POST"]),
        Route(CALENDAR, _view(served, home_pages.calendar)),
    ]


def _view(served: Served, make: Any) -> Any:
    """Return an endpoint that makes a page in a thread of its own; mistakes of the files are shown."""

    async def endpoint(request: Request) -> Response:
        try:
            return await run_in_threadpool(make, served, request)
        except SpaceError as error:
            mistakes = [str(problem) for problem in error.problems]
            return page(served, request, "mistakes", 500, mistakes=mistakes, here="")

    return endpoint


def _action(served: Served, act: Any) -> Any:
    """Return an endpoint that does what a form wants and leads back to a page, so a reload sends nothing.

    ``act`` returns the way to that page, or an answer of its own.
    """

    async def endpoint(request: Request) -> Response:
        try:
            fields = fields_of(await request.body())
            token = served.tokens.require_own(fields)
        except BadFormError:
            return page(served, request, "mistakes", 400, mistakes=[NOT_OURS], here="")
        where = await run_in_threadpool(act, served, request, fields, token)
        return where if isinstance(where, Response) else RedirectResponse(where, status_code=303)

    return endpoint


def _week(served: Served, request: Request) -> Response:
    day = day_in(request.query_params.get("on"))
    view = week_page(served.path, day)
    on = day.isoformat() if day else ""
    return page(served, request, "week", here="week", view=view, on=on, events=LOGGED_EVENTS)


def _journal(served: Served, request: Request) -> Response:
    view = journal_page(served.path, whole="all" in request.query_params)
    return page(served, request, "journal", here="journal", view=view)


def _plan(served: Served, request: Request) -> Response:
    has_report = (folder_of(served.path) / PLAN_FOLDER / REPORT).is_file()
    return page(served, request, "plan", here="plan", has_report=has_report)


def _report(served: Served, _request: Request) -> Response:
    noted(served.path).plan()  # puts files in their places that a writer left when it was killed
    file = folder_of(served.path) / PLAN_FOLDER / REPORT
    if not file.is_file():
        return Response("no report", status_code=404, media_type="text/plain")
    headers = {"content-security-policy": REPORT_POLICY, "x-frame-options": "SAMEORIGIN"}
    return FileResponse(file, media_type="text/html", headers=headers)


def _again(served: Served, request: Request) -> Response:
    making = served.planner.progress()
    stale = making.preview is not None and making.preview.inputs_sha256 != fingerprint(served.path)
    return page(served, request, "again", here="again", stale=stale)


def _again_state(served: Served, _request: Request) -> Response:
    making = served.planner.progress()
    return JSONResponse({"stage": making.stage, "spent_s": round(making.spent_s), "trials": making.trials})


def _back(fields: Mapping[str, str], token: str, mark: str = "") -> str:
    """Return the page that a form came from, with what came of the form; only pages of ours."""
    day = day_in(fields.get("week"))
    query = urlencode({**({"on": day.isoformat()} if day else {}), "of": token})
    return f"{'/journal' if fields.get('at') == 'journal' else '/'}?{query}{mark}"


def _options(fields: Mapping[str, str], **more: Any) -> Options:
    """Return the options of ``cropcal log`` that a form gives."""
    return Options(
        on=fields.get("day") or fields.get("on") or None,
        note=fields.get("remark") or None,
        **more,
    )


def _tick(served: Served, _request: Request, fields: Mapping[str, str], token: str) -> str:
    """Note a job of the plan as done, with what was counted and weighed."""
    job = find_job(served.path, fields.get("job", ""))
    if job is None:
        served.desk.refuse(token, PLAN_CHANGED, fields)
        return _back(fields, token)
    from cropcal.show.wording import LOGGED_AS

    words = [LOGGED_AS.get(job.job, job.job), job.batch, *_amounts(job.unit, fields)]
    options = _options(fields, whole="whole" in fields, early="early" in fields, sure="sure" in fields)
    served.desk.write(token, words, options, job_is_noted(job), fields)
    return _back(fields, token)


def _amounts(unit: str, fields: Mapping[str, str]) -> list[str]:
    """Return counted and weighed amounts as typed, each with its unit."""
    heads, grams, other = (fields.get(name, "") for name in ("heads", "grams", "amount"))
    return [
        *([heads, "heads"] if heads else []),
        *([grams, "g"] if grams else []),
        *([other, unit] if other else []),
    ]


def _note(served: Served, _request: Request, fields: Mapping[str, str], token: str) -> str:
    """Note any event: what happened, to which, how much."""
    try:
        amount = shlex.split(fields.get("amount", ""))
    except ValueError:
        amount = fields.get("amount", "").split()
    thing = fields.get("which", "")
    words = [fields.get("event", ""), *([thing] if thing else []), *amount]
    times = {"from_": fields.get("from") or None, "until": fields.get("until") or None}
    options = _options(fields, why=fields.get("why") or None, sure="sure" in fields, **times)
    served.desk.write(token, words, options, _never, fields)
    return _back(fields, token, "#said")


def _done(served: Served, _request: Request, fields: Mapping[str, str], token: str) -> str:
    """Note all jobs of a day as planned, those that are not noted yet."""
    noted_before = len(served.desk.journal().entries)
    served.desk.write(
        token, ["done"], _options(fields), lambda journal: len(journal.entries) != noted_before, fields
    )
    return _back(fields, token, "#said")


def _never(_journal: Journal) -> bool:
    return False


def _undo(served: Served, _request: Request, fields: Mapping[str, str], token: str) -> str:
    """Take back a line of the journal, or the lines of one note."""
    names = fields.get("line", "").split()
    served.desk.write(token, names, Options(undo=True), are_taken_back(names), fields)
    return _back(fields, token)


def _correct(served: Served, _request: Request, fields: Mapping[str, str], token: str) -> str:
    """Replace a line of the journal by one with another amount, day or remark."""
    line = fields.get("line", "")
    options = _options(fields, correct=line, sure="sure" in fields)
    served.desk.write(token, fields.get("amount", "").split(), options, are_taken_back([line]), fields)
    return _back(fields, token)


def _again_do(served: Served, request: Request, fields: Mapping[str, str], token: str) -> str:
    """Plan again, end the search early, keep the new plan, or throw it away."""
    what = request.path_params["what"]
    if what == "start":
        served.planner.begin(clock.today(), begun="begun" in fields)
    elif what == "enough":
        served.planner.enough()
    elif what == "drop":
        served.planner.drop()
    elif what == "keep":
        kept = served.desk.keep(token, served.planner.keep, KEPT)
        return f"{'/again' if kept.mistakes else '/'}?{urlencode({'of': token})}"
    return "/again"

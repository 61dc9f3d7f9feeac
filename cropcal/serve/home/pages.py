"""The pages of the home network: the entrance for a phone, the links for the household, the calendar."""

from collections.abc import Mapping
from contextlib import suppress

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from cropcal.reading.files.file_set import CannotWriteError, finish_interrupted
from cropcal.season.files import CALENDAR as CALENDAR_FILE
from cropcal.season.load import PLAN_FOLDER, folder_of
from cropcal.serve.home import links as at_home
from cropcal.serve.home.invitation import Answer
from cropcal.serve.pages import Served, page
from cropcal.serve.security import MAY_WRITE

REFUSED: Mapping[Answer, str] = {
    "wrong": "This code does not fit.",
    "locked": "Too many wrong codes were typed, so the code counts no more.",
    "late": "The code is too old.",
    "used": "The code was used already: each lets one phone in.",
}
NEW_CODE = (
    'The computer that runs cropcal has a new one: on its page, at the end, under "Phones and calendar". '
    "A phone that is in has it too."
)
OLD_LINK = "The link that was scanned counts no more."
NO_CALENDAR = "There is no plan yet, so no calendar. This address gives it as soon as there is one."


def entrance(served: Served, request: Request) -> Response:
    """Return the page on which a code is typed, or a scanned link is confirmed.

    To open the link lets nobody in: programs that look at links before a person does would use it up.
    """
    if request.scope.get(MAY_WRITE):
        return RedirectResponse("/", status_code=303)
    once = request.query_params.get("once", "")
    return page(served, request, "entrance", 401, once=once, mistake="", ways="")


def let_in(served: Served, request: Request, fields: Mapping[str, str], _token: str) -> Response:
    """Let a phone in by its code or its scanned link: then it has a key of its own, in a cookie."""
    home = _home_of(served)
    if request.scope.get(MAY_WRITE):  # in already, so the code is left for another phone
        return RedirectResponse("/", status_code=303)
    scanned = fields.get("once", "")
    answer = home.invitation.take(code=fields.get("code", ""), token=scanned)
    if answer != "in":
        mistake, ways = REFUSED[answer], NEW_CODE
        if answer == "wrong" and scanned:
            mistake = OLD_LINK
        elif answer == "wrong":
            left = home.invitation.tries_left()
            ways = f"{left} more {'try' if left == 1 else 'tries'}."
        return page(served, request, "entrance", 403, once="", mistake=mistake, ways=ways)
    kept = served.doors.cookie_of(home.keys.let_in(), "write", lasting=True)
    return RedirectResponse("/", status_code=303, headers={"set-cookie": kept})


def phones(served: Served, request: Request) -> Response:
    """Return the page with the links; a code only for those who may write."""
    home = _home_of(served)
    invited = home.invitation.open() if request.scope.get(MAY_WRITE) else None
    return page(
        served,
        request,
        "phones",
        here="phones",
        home=home,
        code=at_home.spaced(invited.code) if invited else "",
        picture=at_home.qr_picture(home.scanned(invited)) if invited else "",
        minutes=max(1, round(home.invitation.left_s() / 60)),
        exposed=at_home.EXPOSED,
        subscribed=home.calendar.replace("http://", "webcal://", 1),
    )


def new_code(served: Served, _request: Request, _fields: Mapping[str, str], _token: str) -> str:
    """Make a new code, and return the page that shows it."""
    _home_of(served).invitation.new()
    return "/phones"


def calendar(served: Served, _request: Request) -> Response:
    """Return the calendar of the plan as it was written last."""
    folder = folder_of(served.path) / PLAN_FOLDER
    with suppress(CannotWriteError):
        finish_interrupted(folder)
    try:
        written = (folder / CALENDAR_FILE).read_bytes()
    except OSError:
        return Response(NO_CALENDAR, status_code=404, media_type="text/plain")
    return Response(written, media_type="text/calendar")


def _home_of(served: Served) -> at_home.Home:
    """Return the home network; these pages have no routes without one."""
    if served.home is None:
        raise LookupError
    return served.home

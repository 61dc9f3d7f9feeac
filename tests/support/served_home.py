"""A space that is served to a home network, in this process: with an address and a clock set by hand."""

from served import FORM, PORT, Window

from cropcal.serve.app import application
from cropcal.serve.home.invitation import Invitation
from cropcal.serve.home.keys import HomeKeys
from cropcal.serve.home.links import Home
from cropcal.serve.security import Doors, Keys

ADDRESS = "192.168.7.20"
HOME = f"{ADDRESS}:{PORT}"
WRITE = "w" * 43


class Clock:
    """Seconds that pass when a test says so."""

    now_s = 1000.0

    def __call__(self):
        return self.now_s


class Phone(Window):
    """A phone's browser: it calls the address of the home network, and a site there has no fetch metadata."""

    def headers(self, *more, host=HOME):
        return super().headers(*more, host=host)

    def post(self, action, fields, *, origin=f"http://{HOME}", follow=False):
        from urllib.parse import urlencode

        own = [("origin", origin), ("content-type", FORM)]
        answer = self.call("POST", action, self.headers(*own), urlencode(fields).encode())
        if "set-cookie" in answer.headers:
            name, _, value = answer.headers["set-cookie"].split(";")[0].partition("=")
            self.cookies[name] = value
        return self.get(answer.headers["location"]) if follow and answer.status == 303 else answer

    def type_code(self, code):
        """Open the first page and type a code there."""
        form = self.get().form("/phone")
        return self.post("/phone", {**form, "code": code})


def serve_home(folder, clock=None, *, port=PORT, address=ADDRESS):
    """Return the application that serves a folder to a home network, and what it knows of that network."""
    kept = HomeKeys(folder / "plan")
    kept.settle(address, port)
    home = Home(address, port, kept, Invitation(clock or Clock()))
    keys = Keys(WRITE, kept.read, kept.calendar, kept.is_phone)
    doors = Doors.at(["127.0.0.1", address], port, keys, entrance=True)
    return application(folder, doors, None, home), home

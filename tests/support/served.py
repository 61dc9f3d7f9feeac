"""A space that is served, and windows of a browser that look at it: ASGI called in this process."""

import asyncio
import json
from dataclasses import dataclass, field
from datetime import date, timedelta
from html.parser import HTMLParser
from urllib.parse import urlencode

from on_a_day import DAY

from cropcal.serve.app import application
from cropcal.serve.planner import Planner
from cropcal.serve.security import Doors, Keys

PORT = 8123
HOST = f"127.0.0.1:{PORT}"
FORM = "application/x-www-form-urlencoded"
KEYS = Keys("w" * 43, "r" * 43)
SPACE = """
[place]
name = "{place}"

[[zone]]
name = "bench"
length_m = 1.0
width_m = 1.0
photoperiod_h = 16

[[bed]]
name = "{bed}"
zone = "bench"
sites = 8
length_m = 0.9
width_m = 0.4

[[bed]]
name = "trays"
zone = "bench"
kind = "tray"
sites = 2
length_m = 0.9
width_m = 0.4

[[fixture]]
zone = "bench"
watts = 100

[[want]]
crops = ["lettuce-butterhead"]

[[want]]
crops = ["basil"]

[plan]
start = {start}
"""


def day(after: int) -> str:
    """Return a day some days after that on which tests run."""
    return (DAY + timedelta(days=after)).isoformat()


def batch(name, crop, sown, cut, *, sites=8, unit="heads", bed="long box", amount=None):
    """Return a batch as plan.json has it; days count from today."""
    amount = float(sites) if amount is None else amount
    harvest = {"date": day(cut), "cut": 1, "sites": sites, "amount": amount, "amount_range_80": [amount] * 2}
    return {
        "batch": name, "want": 0, "crop": crop, "bed": bed, "nursery": None, "sow_on": day(sown),
        "emerge_on": day(sown + 4), "transplant_on": None, "ready_from": day(cut),
        "ready_from_range_80": [day(cut - 3), day(cut + 7)], "ready_until": day(cut + 7),
        "clear_on": day(cut), "sites": sites, "cells": 0, "seeds": 16, "amount": amount, "unit": unit,
        "harvests": [harvest],
    }  # fmt: skip


def job(what, name, crop, on, amount, unit, *, note="", bed="long box"):
    """Return a job as plan.json has it."""
    return {
        "date": day(on), "job": what, "batch": name, "crop": crop, "bed": bed, "sites": "1-4",
        "amount": amount, "unit": unit, "note": note,
    }  # fmt: skip


def write_space(folder, *, place="Boot room", bed="long box", note="2 seeds each", more_jobs=()):
    """Write a space with a plan by hand: two sowings and two harvests this week, a sowing late, a chore.

    Today is the last day of its week, so that all of it is past or today.
    """
    (folder / "plan").mkdir(parents=True, exist_ok=True)
    text = SPACE.format(place=place, bed=bed, start=day(-70))
    (folder / "space.toml").write_text(text, encoding="utf-8")
    batches = [
        batch("1012a", "lettuce-butterhead", -69, -1, sites=3, bed=bed),
        batch("1019a", "basil", -62, 0, sites=2, unit="g", amount=230.0, bed=bed),
        batch("1220a", "lettuce-butterhead", 0, 60, sites=4, bed=bed),
        batch("1220b", "basil", 0, 55, sites=2, unit="g", amount=200.0, bed=bed),
        batch("1218a", "basil", -2, 55, sites=2, unit="g", amount=200.0, bed=bed),
    ]
    jobs = [
        job("cut", "1012a", "lettuce-butterhead", -1, 3.0, "heads", bed=bed),
        job("cut", "1019a", "basil", 0, 230.0, "g", note="eat by Wed 23 Dec", bed=bed) | {"eat_by": day(3)},
        job("sow", "1220a", "lettuce-butterhead", 0, 4.0, "sites", note=note, bed=bed),
        job("sow", "1220b", "basil", 0, 2.0, "sites", note=note, bed=bed),
        job("sow", "1218a", "basil", -2, 2.0, "sites", note=note, bed=bed),
        job("chore", "", "", 0, None, "", note="wipe the lamp", bed=""),
        *more_jobs,
    ]
    form = {"batches": batches, "jobs": jobs, "sites": [], "supply": [], "start": day(-70), "weeks": 20}
    (folder / "plan" / "plan.json").write_text(json.dumps(form), encoding="utf-8")
    return folder


@dataclass(frozen=True)
class Answer:
    """What came back: status, headers, text."""

    status: int
    headers: dict[str, str]
    text: str

    def forms(self, action):
        """Return the fields of each form with an action, in the page's order, without its buttons."""
        return [fields for to, fields in self.read().forms if to == action]

    def form(self, action, **some):
        """Return the fields of the one form with an action and some values."""
        found = [
            fields
            for fields in self.forms(action)
            if all(fields.get(name) == value for name, value in some.items())
        ]
        assert len(found) == 1, (action, some, self.forms(action))
        return found[0]

    def read(self):
        """Return what a browser would see: ``tags`` with their attributes, and ``words``."""
        reading = _Forms()
        reading.feed(self.text)
        return reading


class _Forms(HTMLParser):
    def __init__(self):
        super().__init__()
        self.forms, self.tags, self.words = [], [], ""

    def handle_data(self, data):
        self.words += data

    def handle_starttag(self, tag, attributes):
        found = dict(attributes)
        self.tags.append((tag, found))
        if tag == "form":
            self.forms.append((found["action"], {}))
        elif tag == "input" and found.get("type") != "checkbox" and self.forms:
            self.forms[-1][1][found["name"]] = found.get("value", "")


@dataclass
class Window:
    """One window of a browser: it keeps cookies, and sends the headers that a browser sends."""

    app: object
    cookies: dict[str, str] = field(default_factory=dict)

    def call(self, method, target, headers=(), body=b"", parts=None, scope=None):
        """Send a request just as it is; ``parts`` of a body arrive one by one."""
        return asyncio.run(self._call(method, target, headers, parts or [body], scope or {}))

    async def _call(self, method, target, headers, parts, more):
        path, _, query = target.partition("#")[0].partition("?")
        scope = {
            "type": "http", "http_version": "1.1", "method": method, "scheme": "http",
            "path": path, "raw_path": path.encode(), "root_path": "",
            "query_string": query.encode(), "server": ("127.0.0.1", PORT), "client": ("127.0.0.1", 9),
            "headers": [(name.lower().encode(), value.encode()) for name, value in headers], **more,
        }  # fmt: skip
        waiting = [
            {"type": "http.request", "body": part, "more_body": number < len(parts)}
            for number, part in enumerate(parts, 1)
        ]
        sent = []

        async def receive():
            if waiting:
                return waiting.pop(0)
            return {"type": "http.disconnect"}

        async def send(message):
            sent.append(message)

        await self.app(scope, receive, send)
        start = sent[0]
        answered = {name.decode(): value.decode() for name, value in start["headers"]}
        text = b"".join(message.get("body", b"") for message in sent[1:]).decode()
        return Answer(start["status"], answered, text)

    def headers(self, *more, host=HOST):
        """Return the headers of a request of a page of ours."""
        cookie = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        return [("host", host), *([("cookie", cookie)] if cookie else []), *more]

    def get(self, target="/"):
        """Return a page, following the way that an answer names."""
        answer = self.call("GET", target, self.headers())
        if "set-cookie" in answer.headers:
            name, _, value = answer.headers["set-cookie"].split(";")[0].partition("=")
            self.cookies[name] = value
        return self.get(answer.headers["location"]) if answer.status == 303 else answer

    def post(self, action, fields, *, origin=f"http://{HOST}", follow=True):
        """Send a form as a page of ours does, and return the page that it leads to."""
        own = [("origin", origin), ("sec-fetch-site", "same-origin"), ("content-type", FORM)]
        answer = self.call("POST", action, self.headers(*own), urlencode(fields).encode())
        return self.get(answer.headers["location"]) if follow and answer.status == 303 else answer


def serve(folder, planner: Planner | None = None, comparer=None):
    """Return the application that serves a folder."""
    return application(folder, Doors.at(["127.0.0.1"], PORT, KEYS), planner, comparer)


def window(app, key=KEYS.write):
    """Return a window in which the link with a key was opened."""
    opened = Window(app)
    assert opened.get(f"/?key={key}").status == 200
    return opened


def monday(on: date = DAY) -> date:
    """Return the first day of the week of a day."""
    return on - timedelta(days=on.weekday())


class EndsWhenItMay:
    """What stands for a process that has done its work, and ends when ``may_end`` is set."""

    def wait(self):
        self.may_end.wait(10)
        return self.code

    def poll(self):
        return None

    def kill(self):
        self.is_killed = True
        self.may_end.set()

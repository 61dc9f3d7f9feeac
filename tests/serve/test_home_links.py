"""Phones in the home network: the code that lets one in, the link that only reads, the calendar."""

import os
import threading
from urllib.parse import urlencode, urlsplit

import pytest
from served import FORM, PORT, day, serve, write_space
from served_home import ADDRESS, HOME, WRITE, Clock, Phone, serve_home

from cropcal.reading.journal.read import read_journal
from cropcal.serve.home.invitation import MOST_TRIES, VALID_S, Invitation
from cropcal.serve.home.keys import FILE, MOST_PHONES, HomeKeys
from cropcal.serve.security import Doors, Keys

NAME = "Boot room"
TICK = f"sow.1220a.{day(0)}"
PAGES = ("/", "/journal", "/plan", "/again", "/phones")
ACTIONS = ("/tick", "/note", "/undo", "/correct", "/again/start", "/again/keep", "/again/drop", "/phones")


@pytest.fixture
def shelf(tmp_path):
    return write_space(tmp_path / "shelf")


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def both(shelf, clock):
    return serve_home(shelf, clock)


@pytest.fixture
def app(both):
    return both[0]


@pytest.fixture
def home(both):
    return both[1]


def code_of(home):
    return home.invitation.open().code


def let_in(app, home):
    """Return a phone that typed the code."""
    phone = Phone(app)
    assert phone.type_code(code_of(home)).status == 303
    return phone


def noted(shelf):
    return [event.event for event in read_journal(shelf / "journal.csv")[0].events]


def test_a_phone_types_the_code_and_ticks(app, home, shelf):
    """The bare address shows where the code is typed, and nothing else; then the phone may do all."""
    phone = Phone(app)
    asked = phone.get()
    assert asked.status == 401
    assert NAME not in asked.text
    answer = phone.type_code(f"{code_of(home)[:3]} {code_of(home)[3:]}")
    assert (answer.status, answer.headers["location"]) == (303, "/")
    kept = answer.headers["set-cookie"]
    assert all(part in kept for part in ("HttpOnly", "SameSite=Strict", "Max-Age=", "Path=/"))
    page = phone.get()
    assert NAME in page.text
    assert phone.post("/tick", page.form("/tick", job=TICK)).status == 303
    assert noted(shelf) == ["sown"]


def test_a_phone_scans_the_link(app, home):
    """To open it is not enough, for a preview does so too; the button lets the phone in."""
    link = urlsplit(home.scanned(home.invitation.open()))
    assert link.netloc == HOME
    target = f"{link.path}?{link.query}"
    for _ in range(3):
        preview = Phone(app).get(target)
        assert preview.status == 401
        assert "set-cookie" not in preview.headers
    phone = Phone(app)
    assert phone.post("/phone", phone.get(target).form("/phone")).status == 303
    assert phone.get().status == 200
    assert WRITE not in target
    assert home.keys.read not in target


@pytest.mark.parametrize("by", ["code", "link"])
def test_a_code_lets_one_phone_in(app, home, by):
    """The same code, or the link of the same code, is refused the second time."""
    code, link = code_of(home), f"/phone?once={home.invitation.open().token}"
    let_in(app, home)
    late = Phone(app)
    answer = late.type_code(code) if by == "code" else late.post("/phone", late.get(link).form("/phone"))
    assert answer.status == 403
    assert "used already" in answer.read().words
    assert "set-cookie" not in answer.headers
    assert late.get().status == 401


def test_the_same_form_sent_twice_lets_in_once(app, home):
    phone = Phone(app)
    form = {**phone.get().form("/phone"), "code": code_of(home)}
    answers = [Phone(app).post("/phone", form) for _ in range(2)]
    assert [answer.status for answer in answers] == [303, 403]


def test_wrong_codes_lock_it(app, home):
    """After five the right one is refused too, and the scanned link; a new code works again."""
    right = code_of(home)
    wrong = f"{(int(right) + 1) % 10**6:06}"
    phone, link = Phone(app), f"/phone?once={home.invitation.open().token}"
    for left in range(MOST_TRIES - 1, 0, -1):
        answer = phone.type_code(wrong)
        assert answer.status == 403
        assert f"{left} more" in answer.read().words
    assert "counts no more" in phone.type_code(wrong).read().words
    assert phone.type_code(right).status == 403
    assert phone.post("/phone", phone.get(link).form("/phone")).status == 403
    assert phone.cookies == {}
    computer = window_of(app)
    assert computer.post("/phones", computer.get("/phones").form("/phones")).status == 303
    shown = computer.get("/phones").read().words
    assert f"{code_of(home)[:3]} {code_of(home)[3:]}" in shown
    assert phone.type_code(code_of(home)).status == 303


def keys_of(shelf, *, new=False):
    """Return the keys of a space, as they are after a start."""
    kept = HomeKeys(shelf / "plan", new=new)
    kept.settle(kept.place[0] or ADDRESS, kept.place[1] or PORT)
    return kept


def window_of(app):
    """Return a browser of the computer, which has the link that writes."""
    phone = Phone(app)
    assert phone.get(f"/?key={WRITE}").status == 200
    return phone


@pytest.mark.parametrize("after_s", [VALID_S, VALID_S + 1, 10 * VALID_S])
def test_a_late_code_is_refused(app, home, clock, after_s):
    code, token = code_of(home), home.invitation.open().token
    clock.now_s += VALID_S - 1
    assert code_of(home) == code
    clock.now_s += after_s - VALID_S + 1
    phone = Phone(app)
    assert "too old" in phone.type_code(code).read().words
    assert phone.post("/phone", phone.get(f"/phone?once={token}").form("/phone")).status == 403
    assert phone.cookies == {}
    assert "too old" in window_of(app).get("/phones").read().words


def test_a_new_code_ends_the_one_before(app, home):
    old = home.invitation.open()
    home.invitation.new()
    if old.code != code_of(home):
        assert Phone(app).type_code(old.code).status == 403
    phone = Phone(app)
    answer = phone.post("/phone", phone.get(f"/phone?once={old.token}").form("/phone"))
    assert answer.status == 403
    assert "scanned counts no more" in answer.read().words


NO_CODES = [
    "",
    " ",
    "0",
    "1234567",
    "\uff14\uff18\uff12\uff19\uff11\uff13",
    "None",
    "-1",
    "\u0661" * 6,
    "a" * 1900,
]


@pytest.mark.parametrize("code", NO_CODES)
def test_what_is_no_code_is_a_wrong_one(app, code):
    answer = Phone(app).type_code(code)
    assert answer.status == 403
    assert "set-cookie" not in answer.headers


def test_a_code_in_the_address_lets_nobody_in(app, home):
    """Nothing is done by GET."""
    for target in (f"/phone?code={code_of(home)}", f"/?code={code_of(home)}", f"/?once={code_of(home)}"):
        answer = Phone(app).get(target)
        assert answer.status == 401
        assert "set-cookie" not in answer.headers
    assert home.keys.phones == 0


def test_at_the_same_moment_only_one_gets_in_and_only_five_may_guess():
    """Many at once: neither the one entry nor the few tries are shared out twice."""
    for guess in (False, True):
        invitation = Invitation()
        right = invitation.open().code
        code = f"{(int(right) + 1) % 10**6:06}" if guess else right
        answers = []
        start = threading.Barrier(30)

        def take(code=code, invitation=invitation, answers=answers, start=start):
            start.wait()
            answers.append(invitation.take(code=code))

        threads = [threading.Thread(target=take) for _ in range(30)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert answers.count("in") == (0 if guess else 1)
        assert answers.count("wrong") == (MOST_TRIES - 1 if guess else 0)


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "", f"https://{HOME}", f"http://127.0.0.1:{PORT}"]
)
def test_another_site_cannot_let_a_phone_in(app, home, shelf, origin):
    """Nor press the button of a scanned link, nor tick with the phone's cookie, nor make a new code."""
    phone = Phone(app)
    form = {**phone.get().form("/phone"), "code": code_of(home)}
    assert phone.post("/phone", form, origin=origin).status == 403
    assert home.keys.phones == 0
    phone.post("/phone", form)
    fields = phone.get().form("/tick", job=TICK)
    for action in ACTIONS:
        assert phone.post(action, fields, origin=origin).status == 403
    assert not (shelf / "journal.csv").exists()


@pytest.mark.parametrize("kind", ["text/plain", "application/json", "multipart/form-data; boundary=x"])
def test_a_code_comes_in_a_form_alone(app, home, kind):
    phone = Phone(app)
    body = urlencode({**phone.get().form("/phone"), "code": code_of(home)}).encode()
    headers = phone.headers(("origin", f"http://{HOME}"), ("content-type", kind))
    assert phone.call("POST", "/phone", headers, body).status == 415
    large = phone.headers(("origin", f"http://{HOME}"), ("content-type", FORM))
    assert phone.call("POST", "/phone", large, parts=[b"a" * 5000] * 20).status == 413
    assert home.keys.phones == 0


def test_the_home_address_counts_with_home_alone(app, shelf):
    """Without --home that host is another one; so is the same address at another port, or another address."""
    assert Phone(serve(shelf)).get().status == 421
    assert Phone(serve(shelf)).get("/phone").status == 421
    others = [
        *(f"{name}:{PORT}" for name in ("192.168.7.21", "evil.example", "3232237332", "192.168.7.020")),
        *("192.168.7.20", "192.168.7.20:1", f"{HOME}.evil.example", f"[::ffff:192.168.7.20]:{PORT}"),
    ]
    for host in others:
        phone = Phone(app)
        assert phone.call("GET", "/", phone.headers(host=host)).status == 421
        assert phone.call("GET", f"/?key={WRITE}", phone.headers(host=host)).status == 421


def test_without_home_there_is_no_entrance_and_no_calendar(shelf):
    from served import HOST, KEYS, Window, window

    app = serve(shelf)
    for target in ("/", "/phone", "/calendar.ics", "/phones", "/page.css"):
        assert Window(app).get(target).status == 401
    for key in ("", "x", KEYS.read, KEYS.write):
        assert Window(app).call("GET", f"/calendar.ics?key={key}", [("host", HOST)]).status == 403
    inside = window(app)
    for target in ("/phone", "/calendar.ics", "/phones"):
        assert inside.get(target).status == 404
    assert "/phones" not in inside.get().text


def test_without_a_key_only_the_entrance_is_seen(app):
    pages = ("/journal", "/plan", "/plan/report.html", "/again", "/again/state", "/phones", "/page.js")
    others = ("/phone/", "/phone/x", "/Phone", "/page.css/..", "/calendar.ics", "//", "//phone")
    for target in pages + others:
        answer = Phone(app).get(target)
        assert answer.status == 401
        assert "<form" not in answer.text
        assert NAME not in answer.text


def reader_of(app, home):
    phone = Phone(app)
    assert phone.get(f"/?key={home.keys.read}").status == 200
    return phone


def test_the_reading_link_shows_no_form_and_writes_nothing(app, home, shelf):
    """On every page, with a job that is noted too; and it learns neither the code nor a key that writes."""
    computer = window_of(app)
    tick = computer.get().form("/tick", job=TICK)
    computer.post("/tick", tick)
    before = (shelf / "journal.csv").read_bytes()
    reader = reader_of(app, home)
    for target in PAGES:
        page = reader.get(target)
        assert page.status == 200
        tags = {tag for tag, _ in page.read().tags}
        assert not tags & {"form", "button", "input", "select"}, target
        assert WRITE not in page.text
        assert code_of(home) not in page.text.replace(" ", "")
        assert home.invitation.open().token not in page.text
    for action in ACTIONS:
        assert reader.post(action, tick).status == 403
    assert (shelf / "journal.csv").read_bytes() == before
    assert home.invitation.open() is not None


def test_the_reading_link_stays_on_a_phone_beside_a_key_that_writes(app, home):
    """It is kept for long, comes along from a message in the browser, and takes no right away."""
    phone = let_in(app, home)
    answer = phone.call("GET", f"/?key={home.keys.read}", phone.headers())
    assert "SameSite=Lax" in answer.headers["set-cookie"]
    assert "HttpOnly" in answer.headers["set-cookie"]
    assert "Max-Age" in answer.headers["set-cookie"]
    phone.get(f"/?key={home.keys.read}")
    assert len(phone.cookies) == 2
    assert phone.get().forms("/tick")


def test_a_reader_can_be_let_in(app, home):
    reader = reader_of(app, home)
    form = reader.get(f"/phone?once={home.invitation.open().token}").form("/phone")
    assert reader.post("/phone", form, follow=True).forms("/tick")


def test_who_is_in_leaves_the_code_for_another(app, home):
    computer = window_of(app)
    form = {"token": computer.get("/phones").form("/phones")["token"], "code": code_of(home)}
    assert computer.post("/phone", form).headers["location"] == "/"
    assert computer.call("GET", "/phone", computer.headers()).headers["location"] == "/"
    assert home.invitation.open() is not None


CALENDAR = b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"


def test_the_calendar_needs_its_key_and_no_cookie(app, home, shelf):
    """It is what the last plan wrote, with no cookie and no page; HEAD too."""
    target = f"/calendar.ics?key={home.keys.calendar}"
    assert Phone(app).get(target).status == 404
    for text in (CALENDAR, CALENDAR.replace(b"END", b"NAME:new\r\nEND")):
        (shelf / "plan" / "calendar.ics").write_bytes(text)
        for method in ("GET", "HEAD"):
            phone = Phone(app)
            answer = phone.call(method, target, phone.headers())
            assert answer.status == 200
            assert answer.text.encode() == text  # of HEAD the server sends the headers alone
            assert answer.headers["content-type"].startswith("text/calendar")
            assert answer.headers["cache-control"] == "no-store"
            assert "set-cookie" not in answer.headers


def test_a_broken_plan_gives_the_calendar_no_page(app, home, shelf):
    (shelf / "plan" / "plan.json").write_text("{")
    (shelf / "space.toml").write_text("[")
    answer = Phone(app).get(f"/calendar.ics?key={home.keys.calendar}")
    assert answer.status == 404
    assert "<" not in answer.text


def test_the_key_of_the_calendar_opens_nothing_else(app, home, shelf):
    """Not as a link, nor in a cookie, nor with another method; and no other key gives the calendar."""
    (shelf / "plan" / "calendar.ics").write_bytes(CALENDAR)
    key = home.keys.calendar
    for target in PAGES:
        answer = Phone(app).get(f"{target}?key={key}")
        assert answer.status in {401, 403}
        assert "set-cookie" not in answer.headers
        for name in (f"cropcal-{PORT}", f"cropcal-{PORT}-read"):
            assert Phone(app, {name: key}).get(target).status in {401, 403}
    for method in ("POST", "PUT", "DELETE", "OPTIONS"):
        phone = Phone(app)
        headers = phone.headers(("origin", f"http://{HOME}"), ("content-type", FORM))
        assert phone.call(method, f"/calendar.ics?key={key}", headers).status in {401, 403, 405}
    for other in (WRITE, home.keys.read, "", "x", key[:-1], key + "x", f"{key}&key=x"):
        answer = Phone(app).get(f"/calendar.ics?key={other}")
        assert answer.status == 403
        assert "VCALENDAR" not in answer.text


@pytest.mark.skipif(os.name != "posix", reason="files have no such modes there")
def test_the_keys_are_kept_for_the_owner_alone(shelf):
    """Whatever the mask of the process; a file that others could read is closed to them, and that is said."""
    before = os.umask(0)
    try:
        keys_of(shelf)
    finally:
        os.umask(before)
    file = shelf / "plan" / FILE
    assert file.stat().st_mode & 0o777 == 0o600
    file.chmod(0o644)
    assert "--new-keys" in keys_of(shelf).notes[0]
    assert file.stat().st_mode & 0o777 == 0o600
    assert keys_of(shelf).notes == []


def test_links_and_phones_outlive_a_restart(app, home, shelf):
    """The file has no key that writes: whoever gets it can read, but not write."""
    phone = let_in(app, home)
    text = (shelf / "plan" / FILE).read_text()
    assert WRITE not in text
    assert not any(key in text for key in phone.cookies.values())
    again, later = serve_home(shelf)
    assert (later.reading, later.calendar) == (home.reading, home.calendar)
    phone.app = again
    assert phone.get().forms("/tick")
    digest = text.split('"phones": [')[1].split('"')[1]
    for stolen in (digest, later.keys.read):
        assert not Phone(again, {f"cropcal-{PORT}": stolen}).get().forms("/tick")


def test_new_keys_end_all_that_was(app, home, shelf):
    phone, reader, calendar = let_in(app, home), reader_of(app, home), home.keys.calendar
    kept = keys_of(shelf, new=True)
    assert kept.phones == 0
    assert kept.place == (ADDRESS, PORT), "where it is served is no secret"
    again, _ = serve_home(shelf)
    phone.app = reader.app = again
    assert phone.get().status == reader.get().status == 401
    assert Phone(again).get(f"/calendar.ics?key={calendar}").status == 403


def test_two_servers_of_one_space_keep_each_other_s_phones(shelf):
    one, two = keys_of(shelf), keys_of(shelf)
    keys = [one.let_in(), two.let_in(), one.let_in()]
    assert all(keys_of(shelf).is_phone(key) for key in keys)
    assert one.read == two.read


def test_only_so_many_phones_are_remembered(shelf):
    kept = keys_of(shelf)
    keys = [kept.let_in() for _ in range(MOST_PHONES + 1)]
    assert not kept.is_phone(keys[0])
    assert all(kept.is_phone(key) for key in keys[1:])


SHORT = '{"read": "", "calendar": "", "phones": [], "port": 0, "address": ""}'


@pytest.mark.parametrize("text", ["", "{", "[]", "null", "{}", SHORT, "\udcff", "[" * 10_000])
def test_a_broken_file_of_keys_gives_new_ones(shelf, text):
    """Never an empty or a short key; and it is said that the links changed."""
    (shelf / "plan" / FILE).write_bytes(text.encode("utf-8", "surrogateescape"))
    kept = keys_of(shelf)
    assert len(kept.notes) == 1 + (kept.notes[-1] != kept.notes[0])
    assert len(kept.read) == len(kept.calendar) == 43
    assert keys_of(shelf).read == kept.read


def test_where_keys_cannot_be_kept_they_hold_until_the_end(tmp_path):
    (tmp_path / "plan").write_text("a file where the folder should be")
    kept = HomeKeys(tmp_path / "plan")
    kept.settle(ADDRESS, PORT)
    assert "until this ends" in kept.notes[-1]
    assert kept.is_phone(kept.let_in())


def test_empty_keys_open_nothing():
    keys = Keys(WRITE)
    assert not keys.opens_calendar("")
    assert keys.right("") is None
    assert not Doors.at(["127.0.0.1"], PORT, keys).entrance

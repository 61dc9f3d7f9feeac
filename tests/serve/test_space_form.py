"""The space by a form: the same checks and the same file as by ``cropcal set``, mistakes at their fields."""

import re

import pytest
from filled_in import Forms, form_at
from served import KEYS, serve, window, write_space
from typer.testing import CliRunner

from cropcal.cli.main import app
from cropcal.reading.space.setting_key import TABLES
from cropcal.reading.text.key_types import fields
from cropcal.serve.comparing import Comparer
from cropcal.serve.space_cards import INNER
from cropcal.serve.space_words import FIELDS
from cropcal.serve.space_words import TABLES as TITLES

HOSTILE = '<script>window.ran = 1</script>"><img src=x>'
MORE = """
# what power costs
[tariff]
currency = "EUR"    # by the bill
[[tariff.rate]]
per_kwh = 0.3

[[tariff.rate]]     # cheap nights
name = "night"
per_kwh = 0.2
hours = [["23:00", "06:00"]]
"""


class Process:
    """What stands for the process that compares."""

    stdin = None

    def wait(self):
        return 1

    def poll(self):
        return 1


class Shelf:
    """A folder of a space, and a window in which its form is open."""

    def __init__(self, folder, **more):
        write_space(folder, **more)
        self.file = folder / "space.toml"
        self.file.write_text(self.file.read_text(encoding="utf-8") + MORE, encoding="utf-8")
        self.app = serve(folder, comparer=Comparer(folder, lambda *_: Process()))
        self.page = window(self.app)
        self.folder = folder

    @property
    def text(self):
        return self.file.read_text(encoding="utf-8")

    def look(self):
        return self.page.get("/space").text

    def send(self, at, html=None, do="keep", action="/space/change", **changes):
        """Send the form of a table with some fields changed, and return the page that it leads to."""
        form, _ = form_at(html or self.look(), at, action)
        typed = {f"f.{key.rstrip('_')}": value for key, value in changes.items()}
        assert typed.keys() <= form.keys(), typed.keys() - form.keys()
        return self.page.post(action, {**form, **typed, "do": do}).text


@pytest.fixture
def shelf(tmp_path):
    return Shelf(tmp_path / "shelf")


def field_of(html, at, key):
    """Return the part of a page that is one field."""
    start = html.index(f'id="{at.replace(".", "-")}-{key}"')
    return html[html.rindex('<div class="part', 0, start) : html.find('<div class="part', start)]


def test_every_key_of_the_records_is_a_field(shelf):
    """Also those that come later: a key without words is called by its own name."""
    html, sent = shelf.look(), {}
    for to, form in Forms(html).forms:
        if to == "/space/change":
            table = re.sub(r"\.(\d+|new)", "", form["at"])
            sent.setdefault(table, set()).update(name[2:] for name in form if name.startswith("f."))
    for table, record in TABLES.items():
        keys = {key for key in fields(record) if (table, key) not in INNER}
        ticks = {
            key for key, kind in fields(record).items() if kind.sort == "list" and key not in sent[table]
        }
        missing = [key for key in keys - sent[table] if key not in ticks or f'-{key}"' not in html]
        assert not missing, (table, missing)


def test_every_key_has_words():
    assert TABLES.keys() <= TITLES.keys()
    missing = [
        (table, key) for table, record in TABLES.items() for key in fields(record) if key not in FIELDS[table]
    ]
    assert not missing


@pytest.mark.parametrize(
    ("at", "key", "typed", "option"),
    [
        pytest.param("fixture.1", "watts", "85", "fixture.watts=85", marks=pytest.mark.deep),
        ("fixture.1", "watts", "0.2 kW", "fixture.watts=200"),
        ("fixture.1", "lamp_to_canopy_m", "35 cm", "fixture.lamp_to_canopy_m=0.35"),
        pytest.param("fixture.1", "watts_from", "meter", "fixture.watts_from=meter", marks=pytest.mark.deep),
        ("zone.1", "lit", "6am to 10pm", "zone.lit=[[06:00, 22:00]]"),
        pytest.param(
            "zone.1",
            "quiet",
            "09:00-11:00 thu",
            "zone.quiet=[{hours=[[09:00, 11:00]], days=[thu]}]",
            marks=pytest.mark.deep,
        ),
        ("zone.1", "photoperiod_h", "", "zone.photoperiod_h="),
        pytest.param("zone.1", "air_c", "70 F", "zone.air_c=21.1", marks=pytest.mark.deep),
        pytest.param("zone.1", "air_moving", "true", "zone.air_moving=true", marks=pytest.mark.deep),
        pytest.param("zone.1", "wall_reflectance", "0.8, 0.8, 0, white", None, marks=pytest.mark.deep),
        pytest.param(
            "zone.1",
            "wall_reflectance",
            "0.8 0.8 0 0.5",
            "zone.wall_reflectance=[0.8, 0.8, 0, 0.5]",
            marks=pytest.mark.deep,
        ),
        ("bed.1", "rows", "2", None),
        pytest.param(
            "plan",
            "breaks",
            "2027-03-26 to 2027-04-07",
            "plan.breaks=[[2027-03-26, 2027-04-07]]",
            marks=pytest.mark.deep,
        ),
        pytest.param("plan.prices", "cell", "0.1", "plan.prices.cell=0.1", marks=pytest.mark.deep),
        pytest.param("tariff", "tax_percent", "9 %", "tariff.tax_percent=9", marks=pytest.mark.deep),
        pytest.param(
            "tariff.rate.2", "per_kwh", "0,19", "tariff.rate.night.per_kwh=0.19", marks=pytest.mark.deep
        ),
        pytest.param(
            "tariff.rate.2",
            "hours",
            "22:30-05:00",
            "tariff.rate.night.hours=[[22:30, 05:00]]",
            marks=pytest.mark.deep,
        ),
        pytest.param("want.1", "per_week", "3", "want.1.per_week=3", marks=pytest.mark.deep),
        pytest.param(
            "want.1",
            "cut_at_g",
            "Butterhead lettuce: 120 g",
            "want.1.cut_at_g={lettuce-butterhead=120}",
            marks=pytest.mark.deep,
        ),
        pytest.param("want.2", "from", "2027-02-01", "want.2.from=2027-02-01", marks=pytest.mark.deep),
        pytest.param("place", "name", "Boot room 2", "place.name=Boot room 2", marks=pytest.mark.deep),
    ],
)
def test_a_change_is_that_of_cropcal_set(shelf, at, key, typed, option):
    """The same file, byte for byte, comments and all; what is no value writes nothing."""
    before = shelf.text
    html = shelf.send(at, **{key: typed})
    after = shelf.text
    if option is None:
        assert after == before
        assert "Nothing was written" in html
        assert 'class="mistake"' in html
        return
    assert after != before
    shelf.file.write_text(before, encoding="utf-8")
    assert CliRunner().invoke(app, ["set", str(shelf.folder), option]).exit_code == 0
    assert after == shelf.text
    assert "# cheap nights" in after
    assert "Kept" in html
    assert "Plan again" in html


def test_ticks(shelf):
    """Work days and crops; those that were there keep their order."""
    form, _ = form_at(shelf.look(), "plan")
    shelf.page.post("/space/change", {**form, "f.work_days:1": "tue", "f.work_days:6": "sun", "do": "keep"})
    assert 'work_days = ["tue", "sun"]' in shelf.text
    form, ticks = form_at(shelf.look(), "want.1")
    assert form[ticks["lettuce-butterhead"]] == "lettuce-butterhead"
    shelf.page.post("/space/change", {**form, ticks["lettuce-romaine"]: "lettuce-romaine", "do": "keep"})
    assert 'crops = ["lettuce-butterhead", "lettuce-romaine"]' in shelf.text


@pytest.mark.deep
def test_nothing_changed_writes_nothing(shelf):
    """Each form sent as it is."""
    before = shelf.text
    for to, form in Forms(shelf.look()).forms:
        if to == "/space/change" and not form["at"].endswith("new"):
            assert "Nothing was changed" in shelf.page.post(to, {**form, "do": "keep"}).text, form["at"]
    assert shelf.text == before


def test_a_mistake_stands_at_its_field(shelf):
    """With what was typed; one of another field is listed on top, with a link to it."""
    before = shelf.text
    html = shelf.send("bed.1", sites="-4", length_m="wide")
    assert shelf.text == before
    for key, typed, words in (("sites", "-4", "Found -4, expected"), ("length_m", "wide", "expected")):
        part = field_of(html, "bed.1", key)
        assert f'value="{typed}"' in part
        assert words in part
        assert 'aria-invalid="true"' in part
        assert f'href="#bed-1-{key}"' in html
    html = shelf.send("zone.1", name="another")
    assert shelf.text == before
    assert 'href="#bed-1-zone"' in html
    assert 'value="another"' in html
    html = shelf.send("zone.1", lit="noonish")
    assert "No hours are found." in field_of(html, "zone.1", "lit")


def test_add_and_take_out_a_row(shelf):
    """A lamp, then a zone and its bed; the file is as before once they are out again."""
    before = shelf.text
    html = shelf.send("fixture.new", watts="40", lamp_to_canopy_m="30 cm")
    assert "Lamp added" in html
    assert '[[fixture]]\nzone = "bench"\nwatts = 40\nlamp_to_canopy_m = 0.3\n' in shelf.text
    assert "Nothing was written" in shelf.send("zone.new", name="attic")
    shelf.send("zone.new", name="attic", length_m="80 cm", width_m="0.5", photoperiod_h="14")
    html = shelf.send("bed.new", name="crate", zone="attic", sites="6")
    assert "nothing lights" in html, "a bed without a lamp is a mistake of the file too"
    shelf.send("fixture.new", zone="attic", watts="30")
    shelf.send("bed.new", name="crate", zone="attic", sites="6")
    assert "with it bed crate, lamp over attic" in " ".join(shelf.look().split())
    html = shelf.send("zone.2", action="/space/out")
    assert "Taken out: zone attic, bed crate, lamp over attic." in html
    shelf.send("fixture.2", action="/space/out")
    assert shelf.text == before


@pytest.mark.deep
def test_an_unusual_value_is_kept_and_asked_about(shelf):
    """As ``check`` asks, but beside its field."""
    html = shelf.send("tariff.rate.1", per_kwh="9")
    assert "per_kwh = 9" in shelf.text
    assert "Is this meant?" in field_of(html, "tariff.rate.1", "per_kwh")


@pytest.mark.deep
def test_the_first_price_and_the_last(shelf):
    """A price of power is written as people write it; without its only price there is no tariff."""
    bare = shelf.text.replace(MORE, "")
    shelf.file.write_text(bare, encoding="utf-8")
    assert "Price added: base." in shelf.send("tariff.rate.new", per_kwh="0.31")
    assert shelf.text == bare + "\n[tariff]\n\n[[tariff.rate]]\nper_kwh = 0.31\n"
    shelf.send("tariff.rate.1", action="/space/out")
    assert shelf.text.rstrip() == bare.rstrip()


@pytest.mark.deep
def test_a_row_that_others_need_stays(shelf):
    before = shelf.text
    html = shelf.send("zone.1", action="/space/out")
    assert "Nothing was taken out." in html
    assert shelf.text == before


def test_a_bed_with_notes_stays(shelf):
    """Its notes could not be read without it; the form says how to put it out of use."""
    before = shelf.text
    noted = ["log", str(shelf.folder), "sown", "basil", "2", "--bed", "long box"]
    assert CliRunner().invoke(app, noted).exit_code == 0
    assert "so it keeps its name" in shelf.send("bed.1", name="short box")
    assert "Out of use" in shelf.send("bed.1", action="/space/out")
    assert shelf.text == before


@pytest.mark.deep
def test_a_bed_of_the_plan_gets_another_name(shelf):
    """Nothing is noted of it yet; the plan still names the former, and the week is shown all the same."""
    assert "Kept" in shelf.send("bed.1", name="crate")
    answer = shelf.page.get("/")
    assert answer.status == 200
    assert "The space was changed since this plan was made." in answer.text


def test_try_then_keep(shelf):
    """What is tried changes nothing, takes more in, and is kept as a whole; then it can be put back."""
    before = shelf.text
    html = shelf.send("fixture.1", do="try", watts="130")
    assert "Tried, not kept yet" in html
    assert "Lamp over bench, Power of one: 130 W (was 100 W)." in html
    html = shelf.send("want.2", do="try", per_week="60")
    assert shelf.text == before
    assert "Try this too" in html
    kept = shelf.page.post("/space/keep", shelf.page.get("/space").form("/space/keep")).text
    assert "watts = 130" in shelf.text
    assert "per_week = 60" in shelf.text
    back = window_form(kept, "/space/back")
    assert "as it was before" in shelf.page.post("/space/back", back).text
    assert shelf.text == before


@pytest.mark.deep
def test_try_then_throw_away(shelf):
    before = shelf.text
    html = shelf.send("fixture.1", do="try", watts="130")
    assert "Thrown away" in shelf.page.post("/space/drop", window_form(html, "/space/drop")).text
    assert shelf.text == before
    assert "Tried, not kept yet" not in shelf.look()


def test_a_terminal_that_writes_meanwhile(shelf):
    """What is tried is not kept over it."""
    html = shelf.send("fixture.1", do="try", watts="130")
    CliRunner().invoke(app, ["set", str(shelf.folder), "fixture.watts=77"])
    html = shelf.page.post("/space/keep", window_form(html, "/space/keep")).text
    assert "changed meanwhile" in html
    assert "watts = 77" in shelf.text


def test_two_windows(shelf):
    """Another key of the same table is kept beside; the same key shows both values, and asks once more."""
    old, older = shelf.look(), shelf.look()
    CliRunner().invoke(app, ["set", str(shelf.folder), "fixture.watts=77"])
    shelf.send("fixture.1", older, lamp_to_canopy_m="0.4")
    assert "watts = 77" in shelf.text
    assert "lamp_to_canopy_m = 0.4" in shelf.text
    before = shelf.text
    html = shelf.send("fixture.1", old, watts="88", count="2")
    assert shelf.text == before
    part = field_of(html, "fixture.1", "watts")
    assert "it has 77 here, you typed 88" in part
    assert 'value="88"' in part
    assert "it has 0.4" not in html
    shelf.send("fixture.1", html)
    assert shelf.text == before.replace("watts = 77", "watts = 88").replace(
        "lamp_to_canopy_m = 0.4", "lamp_to_canopy_m = 0.4\ncount = 2"
    )


@pytest.mark.deep
def test_a_row_that_moved_is_found(shelf):
    """By its name, or as it was; one that is gone is not mixed up with another."""
    old = shelf.look()
    text = shelf.text
    beds = re.findall(r"\[\[bed\]\].*?(?=\n\[\[)", text, re.DOTALL)
    shelf.file.write_text(text.replace(beds[0], beds[1].replace("trays", "pots"), 1), encoding="utf-8")
    assert "not in the file any more" in shelf.send("bed.1", old, sites="6")
    shelf.file.write_text(text.replace(beds[0], "@").replace(beds[1], beds[0]).replace("@", beds[1]))
    shelf.send("bed.1", old, sites="6")
    assert re.search(r'name = "long box"\nzone = "bench"\nsites = 6', shelf.text)


@pytest.mark.deep
def test_sent_twice_it_counts_once(shelf):
    form, _ = form_at(shelf.look(), "fixture.new")
    form |= {"f.watts": "40", "do": "keep"}
    for _ in range(2):
        assert "Lamp added" in shelf.page.post("/space/change", form).text
    assert shelf.text.count("[[fixture]]") == 2


def test_names_are_text(tmp_path):
    shelf = Shelf(tmp_path / "shelf", place=HOSTILE.replace('"', '\\"'), bed=HOSTILE.replace('"', '\\"'))
    html = shelf.look()
    assert "<script>w" not in html
    assert "<img" not in html
    html = shelf.send("bed.new", name=HOSTILE, zone="bench", sites="0")
    assert "<img" not in html
    html = shelf.send("place", name=HOSTILE + "2")
    assert "<img" not in html
    assert HOSTILE.replace('"', '\\"') + "2" in shelf.text


ODD = [
    {"at": "zone.99"}, {"at": "zone.0"}, {"at": "zone"}, {"at": "__class__"}, {"at": ""}, {"at": "plan.1"},
    {"base": "x"}, {"at": "zone.x"}, {"at": "zone.1.lit.1"}, {"f.watts": "["}, {"f.zone": "\x00"},
    {"f.watts": "9" * 400}, {"f.watts": "1e999"}, {"f.watts": "nan"}, {"f.watts": "<b>"}, {"f.nothing": "1"},
]  # fmt: skip


@pytest.mark.deep
def test_an_odd_form_writes_nothing(shelf):
    """Places that are none, values that are none: each is answered with a page."""
    before = shelf.text
    for odd in ODD:
        form, _ = form_at(shelf.look(), "fixture.1")
        for action in ("/space/change", "/space/out"):
            typed = {} if "f.nothing" in odd else {"f.watts": "-1"}
            answer = shelf.page.post(action, {**form, **typed, **odd, "do": "keep"})
            assert answer.status == 200, (action, odd)
            assert "Traceback" not in answer.text
            assert shelf.text == before, (action, odd)


def test_only_a_form_of_ours_with_the_right_to_write_changes_it(shelf):
    """Neither an address that is opened, nor a form without its token, nor the link that only reads."""
    before = shelf.text
    form, _ = form_at(shelf.look(), "fixture.1")
    form |= {"f.watts": "1", "do": "keep"}
    for what in ("change", "out", "keep", "drop", "back"):
        assert shelf.page.get(f"/space/{what}?at=fixture.1&f.watts=1").status in (404, 405)
    assert shelf.page.post("/space/change", {**form, "token": "x"}).status == 400
    assert shelf.page.post("/space/change", form, origin="http://evil.example").status == 403
    reader = window(shelf.app, KEYS.read)
    html = reader.get("/space").text
    assert "This link only reads." in html
    assert ">Keep<" not in html
    assert reader.post("/space/change", form).status == 403
    assert shelf.text == before


@pytest.mark.deep
def test_a_file_with_mistakes_can_be_mended(shelf):
    """They stand at their fields; a file that is no TOML is shown as a mistake."""
    shelf.file.write_text(shelf.text.replace("watts = 100", "watts = -100"), encoding="utf-8")
    html = shelf.look()
    assert "Found -100" in field_of(html, "fixture.1", "watts")
    shelf.send("fixture.1", watts="100")
    assert "watts = 100" in shelf.text
    shelf.file.write_text("[[zone]\n", encoding="utf-8")
    answer = shelf.page.get("/space")
    assert answer.status == 500
    assert "Traceback" not in answer.text


def window_form(html, action):
    """Return the fields of the one form of a page with an action."""
    (form,) = [form for to, form in Forms(html).forms if to == action]
    return form

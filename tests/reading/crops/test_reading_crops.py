"""A user's crops.csv laid over the shipped tables: what it may contain, and how its mistakes are reported."""

import os
import re
import socket
import subprocess
import sys
from pathlib import Path

import pytest
from depth import examples
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cropcal.reading.crops.checks import check_crop
from cropcal.reading.crops.read import (
    YOURS,
    build_tables,
    crop_columns,
    lay_over,
    read_crop_tables,
)
from cropcal.reading.text.csv_cells import Bad, Column, value_of
from cropcal.reading.text.csv_table import decode, parse
from cropcal.records.crop import ValueSource
from cropcal.shipped import crop_tables

SHIPPED, _ = read_crop_tables(None)


@pytest.fixture
def read(tmp_path):
    """Return a reader: the content of a crops.csv -> tables, and its problems as text without the path."""

    def read_text(content):
        path = tmp_path / "crops.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        tables, problems = read_crop_tables(tmp_path)
        return tables, [str(problem).replace(f"{path}", "crops.csv") for problem in problems]

    return read_text


def test_without_a_file_the_shipped_tables_stand(tmp_path):
    """A folder without crops.csv is no mistake."""
    assert read_crop_tables(tmp_path) == (SHIPPED, [])


def test_a_row_overrides_what_it_fills_in(read):
    """A known slug with two cells filled changes those two and whose they are, nothing else."""
    tables, problems = read("slug,window_d,dli_target_mol_m2_d,keeping_d\nlettuce-butterhead,5,16,\n")
    assert problems == []
    before, after = SHIPPED.crops["lettuce-butterhead"], tables.crops["lettuce-butterhead"]
    changed = {name for name in type(after).model_fields if getattr(after, name) != getattr(before, name)}
    assert changed == {"window_d", "dli_target_mol_m2_d", "sources"}
    assert (after.window_d, after.dli_target_mol_m2_d) == (5, 16.0)
    mine = ValueSource(known="yours", keys=(YOURS,))
    assert after.sources == {**before.sources, "window_d": mine, "dli_target_mol_m2_d": mine}
    assert YOURS in tables.sources
    others = {slug: crop for slug, crop in tables.crops.items() if slug != "lettuce-butterhead"}
    assert others == {slug: crop for slug, crop in SHIPPED.crops.items() if slug != "lettuce-butterhead"}


def test_a_new_crop_starts_from_another(read):
    """A new slug with like takes all that it does not fill in from that crop, and its name from the slug."""
    tables, problems = read("slug,like,anchor_days\nlettuce-red-oak,lettuce-looseleaf,40\n")
    assert problems == []
    crop, like = tables.crops["lettuce-red-oak"], SHIPPED.crops["lettuce-looseleaf"]
    assert crop.name == "lettuce red oak"
    assert crop.anchor_days == 40
    assert crop.source_of("anchor_days") == ValueSource(known="yours", keys=(YOURS,))
    same = {"slug": like.slug, "name": like.name, "anchor_days": like.anchor_days, "sources": like.sources}
    assert crop.model_copy(update=same) == like
    assert tables.crops["lettuce-looseleaf"] == like


def test_a_new_crop_may_start_from_one_above_it(read):
    """Rows are laid over in their order, so that a row may be like a new crop before it."""
    rows = "slug,like,name,height_cm\noak,lettuce-looseleaf,Oak leaf,22\nred-oak,oak,Red oak leaf,\n"
    tables, problems = read(rows)
    assert problems == []
    assert tables.crops["red-oak"].height_cm == 22
    assert tables.crops["red-oak"].name == "Red oak leaf"


def test_sources_of_your_own_resolve(read):
    """A source that the user names is a key of its own; keys of the table and new ones may be joined."""
    cells = "slug,anchor_days,anchor_source\nradish,30,packet of 2026 + common practice\n"
    tables, problems = read(cells)
    assert problems == []
    days = tables.crops["radish"].source_of("anchor_days")
    assert days == ValueSource(known="practice", keys=("packet of 2026",))
    assert tables.sources["packet of 2026"].seen == "yours"
    assert days.is_weak


def test_the_example_of_the_guide_reads(read):
    """Both crops.csv shown in crops/README.md work as they are said to."""
    guide = (Path(__file__).resolve().parents[3] / "crops" / "README.md").read_text(encoding="utf-8")
    examples_shown = re.findall(r"```csv\n(.*?)```", guide, re.DOTALL)
    assert len(examples_shown) == 2
    for content in examples_shown:
        tables, problems = read(content)
        assert problems == []
        assert tables.crops["radish"].anchor_days == 30
        assert tables.crops["radish"].source_of("anchor_days").keys == ("packet of 2027",)
        assert tables.crops["lettuce-red-oak"].anchor_g_per_plant == 110


def test_a_day_length_limit_brings_its_own_reason(read):
    """What the book says about a limit does not stand beside another limit."""
    tables, problems = read("slug,photoperiod_max_h\ndill,14\nspinach-baby,none\n")
    assert problems == []
    dill, spinach = tables.crops["dill"], tables.crops["spinach-baby"]
    assert (dill.photoperiod_max_h, dill.photoperiod_reason) == (14.0, f"given in {YOURS}")
    assert (spinach.photoperiod_max_h, spinach.photoperiod_reason) == (None, f"given in {YOURS}")


SAME = "slug,window_d,germination_min,name\nradish,6,0.9,Radish\nmint,8,0.55,Mint\n"


@pytest.mark.parametrize(
    "content",
    [
        SAME,
        SAME.replace("\n", "\r\n"),
        SAME.replace("\n", "\r"),
        "\N{BYTE ORDER MARK}" + SAME,
        SAME.replace(",", ";"),
        SAME.replace(",", ";").replace(".", ","),
        SAME.replace(",", "\t"),
        "\n \n" + SAME.replace("\n", "\n\n,,,\n"),
        SAME.replace("\n", ",,,\n"),
        SAME.replace("radish,", '"radish", ').replace("0.9", "9e-1").replace(",8,", ",8.0,"),
        SAME.rstrip("\n"),
    ],
    ids=[
        "as it is", "CRLF", "CR", "byte order mark", "semicolons", "semicolons and decimal commas", "tabs",
        "blank lines", "blank cells behind", "quotes, spaces, other numbers", "no last line end",
    ],
)  # fmt: skip
def test_any_spreadsheet_will_do(content, read):
    """Line ends, delimiters, blank rows and quotes of the usual spreadsheets all give the same crops."""
    tables, problems = read(content)
    assert problems == []
    assert (tables.crops["radish"].window_d, tables.crops["radish"].germination_min) == (6, 0.9)
    assert (tables.crops["mint"].window_d, tables.crops["mint"].germination_min) == (8, 0.55)


BAD = {
    "unknown column": (
        "slug,dli_targt_mol_m2_d\nradish,12\n",
        'crops.csv:1: dli_targt_mol_m2_d: found an unknown column, expected a column of the crop '
        'tables, did you '
        'mean "dli_target_mol_m2_d"?',
    ),
    "unknown like": (
        "slug,like\noak,lettuce-loosleaf\n",
        'crops.csv:2: like: found "lettuce-loosleaf", expected the slug of a crop, did you mean '
        '"lettuce-looseleaf"?',
    ),
    "like on a known crop": (
        "slug,like\nkale,kale-baby\n",
        'crops.csv:2: like: found "kale-baby", expected a new slug, for "kale" exists, leave like '
        'blank to change '
        "this crop, or give the new one a slug of its own",
    ),
    "duplicate slug": (
        "slug,window_d\nradish,5\n\nradish,6\n",
        'crops.csv:4: slug: found "radish" again, expected each slug once, line 2 has it',
    ),
    "misspelt slug": (
        "slug,window_d\nradishes,5\n",
        'crops.csv:2: slug: found "radishes", a new crop that lacks 29 columns (latin, kind, unit, '
        '...), expected '
        'the slug of a crop in the table, or all required columns, did you mean "radish"? A new crop '
        'may name one '
        "to start from in a column like",
    ),
    "capital letters": (
        "slug,window_d\nSwiss Chard,5\n",
        'crops.csv:2: slug: found "Swiss Chard", expected lower-case letters and digits, separated by single '
        'hyphens, '
        'write "swiss-chard"',
    ),
    "no slug": (
        "slug,window_d\n,5\n",
        "crops.csv:2: slug: found nothing, expected the slug of a crop",
    ),
    "no slug column": (
        "crop,window_d\nradish,5\n",
        "crops.csv:1: slug: found no such column, expected a column with each crop's slug",
    ),
    "not a number": (
        "slug,window_d\nradish,soon\n",
        'crops.csv:2: window_d: found "soon", expected a whole number from 1 to 60 (d)',
    ),
    "half a day": (
        "slug,window_d\nradish,4.5\n",
        'crops.csv:2: window_d: found "4.5", expected a whole number from 1 to 60 (d)',
    ),
    "a range": (
        "slug,window_d\nradish,5-7\n",
        'crops.csv:2: window_d: found "5-7", expected a whole number from 1 to 60 (d), one number, no range',
    ),
    "a unit": (
        "slug,seed_g_per_1000\nradish,12 g\n",
        'crops.csv:2: seed_g_per_1000: found "12 g", expected a number from 0.01 to 1000 (g), leave '
        'out the unit: '
        "12",
    ),
    "percent": (
        "slug,germination_min\nradish,85\n",
        'crops.csv:2: germination_min: found "85", expected a number from 0.05 to 1 (share), looks '
        'like percent: '
        "0.85",
    ),
    "Fahrenheit": (
        "slug,air_optimum_c\nradish,77\n",
        'crops.csv:2: air_optimum_c: found "77", expected a number from 5 to 40 (°C), looks like °F: 25',
    ),
    "out of bounds": (
        "slug,dli_max_mol_m2_d\nradish,258\n",
        'crops.csv:2: dli_max_mol_m2_d: found "258", expected a number from 1 to 60 (mol/m²/d)',
    ),
    "not a number to count with": (
        "slug,dli_max_mol_m2_d\nradish,nan\n",
        'crops.csv:2: dli_max_mol_m2_d: found "nan", expected a number from 1 to 60 (mol/m²/d)',
    ),
    "decimal comma in quotes": (
        'slug,seed_g_per_1000\nradish,"11,5"\n',
        'crops.csv:2: seed_g_per_1000: found "11,5", expected a number from 0.01 to 1000 (g), write 11.5',
    ),
    "decimal comma": (
        "slug,seed_g_per_1000\nradish,11,5\n",
        "crops.csv:2: found 3 cells, expected at most 2, as the first line has, a comma inside a "
        "number or text "
        "parts a cell: write 4.5 for 4,5 and put text in quotes",
    ),
    "kind": (
        "slug,kind\nradish,bunches\n",
        'crops.csv:2: kind: found "bunches", expected one of "head", "bunch", "tray", "shoots", did you mean '
        '"bunch"?',
    ),
    "none where a value is needed": (
        "slug,window_d\nradish,none\n",
        'crops.csv:2: window_d: found "none", expected a whole number from 1 to 60 (d)',
    ),
    "light out of order": (
        "slug,dli_target_mol_m2_d\nlettuce-butterhead,18\n",
        "crops.csv:2: dli_max_mol_m2_d: found 17, expected at least the target, 18",
    ),
    "temperatures out of order": (
        "slug,air_optimum_c\nspinach-baby,33\n",
        "crops.csv:2: air_max_c: found 32, expected above the optimum, 33",
    ),
    "a head by weight": (
        "slug,unit\ntatsoi,g\n",
        'crops.csv:2: unit: found "g", expected "heads" for a crop of the kind "head"',
    ),
    "cut to nothing": (
        "slug,cuts_max\nradish,2\n",
        "crops.csv:2: cut_leaves_share: found 0, expected above 0 for a crop cut 2 times",
    ),
    "nursery past the harvest": (
        "slug,nursery_d\nlettuce-butterhead,35\n",
        "crops.csv:2: nursery_d: found 35, expected less than the 35 days to harvest",
    ),
    "nursery without room": (
        "slug,nursery_d\nradish,10\n",
        "crops.csv:2: nursery_plants_m2: found nothing, expected plants per m², as it is raised in a nursery",
    ),
    "half a young spacing": (
        "slug,anchor_young_plants_m2\nradish,300\n",
        "crops.csv:2: anchor_young_until_d: found nothing, expected a number, or none in both "
        "anchor_young columns",
    ),
    "seed mass for a crop that is no shoots": (
        "slug,shoots_seed_g_m2\nradish,300\n",
        'crops.csv:2: shoots_seed_g_m2: found 300, expected nothing, as its kind is not "shoots"',
    ),
    "unknown curve": (
        "slug,emergence_curve\nradish,radishes\n",
        'crops.csv:2: emergence_curve: found "radishes", expected a curve of emergence.csv, did you '
        'mean "radish"?',
    ),
    "duplicate header": (
        "slug,window_d,window_d\nradish,5,5\n",
        "crops.csv:1: window_d: found 2 columns of that name, expected each column once",
    ),
    "column without a name": (
        "slug,,window_d\nradish,x,5\n",
        "crops.csv:1: column 2: found no name, expected a name over every column",
    ),
    "empty": ("", "crops.csv: found an empty file, expected a first line with the names of columns"),
    "blank": (" \n\n,,\n", "crops.csv: found an empty file, expected a first line with the names of columns"),
    "a quotation mark too few": (
        'slug,name\nradish,"Radish\n',
        "crops.csv:2: found a row that is not in cells, expected valid CSV, look for a"
        " quotation mark "
        "without its "
        "partner",
    ),
    "a line end inside a name": (
        'slug,name\n\nradish,"Red\nradish"\n',
        'crops.csv:3: name: found "Red radish", expected letters that can be seen, '
        "without control characters",
    ),
    "Latin-1": (
        "slug,name\nradish,Radieschen\nchives,Schnittl\xe4uch\n".encode("latin-1"),
        'crops.csv:3: found the byte 0xe4, expected text in UTF-8, save it as "CSV UTF-8"',
    ),
    "UTF-16": (
        "slug,name\nradish,Radish\n".encode("utf-16"),
        'crops.csv:1: found the byte 0xff, expected text in UTF-8, save it as "CSV UTF-8"',
    ),
}  # fmt: skip


@pytest.mark.parametrize("mistake", list(BAD))
def test_a_mistake_is_told_once_and_clearly(mistake, read):
    """Each mistake gives one line that says where, what was found, what was expected and what to do."""
    content, message = BAD[mistake]
    tables, problems = read(content)
    if mistake == "no slug column":
        # Two things are wrong: there is no slug, and nobody knows the column crop.
        assert [problem for problem in problems if ": slug:" in problem] == [message]
        assert len(problems) == 2
    else:
        assert problems == [message]
    assert tables is not None


def test_a_folder_of_that_name_is_told(tmp_path):
    """A folder called crops.csv is no table."""
    (tmp_path / "crops.csv").mkdir()
    tables, problems = read_crop_tables(tmp_path)
    assert tables == SHIPPED
    assert [str(problem) for problem in problems] == [
        f"{tmp_path / 'crops.csv'}: found a folder, expected a CSV file to read"
    ]


@pytest.mark.skipif(os.name != "posix", reason="needs a socket that is a file")
def test_a_file_that_cannot_be_opened_is_told(tmp_path, monkeypatch):
    """What the system says about a file that cannot be read is passed on."""
    monkeypatch.chdir(tmp_path)  # the name of a socket has to be short
    with socket.socket(socket.AF_UNIX) as made:
        made.bind("crops.csv")
    _, problems = read_crop_tables(tmp_path)
    assert len(problems) == 1
    assert problems[0].expected == "a CSV file to read"


def test_all_mistakes_are_told_at_once(read):
    """Nothing stops at the first mistake; they come in the order of their lines."""
    _, problems = read(
        "slug,windw_d,germination_min,air_max_c\nradish,5,85,20\nmint,5,x,\nMint,,,\nbasil,,,,,7\n"
    )
    assert [problem.split(" found")[0] for problem in problems] == [
        "crops.csv:1: windw_d:",
        "crops.csv:2: air_max_c:",
        "crops.csv:2: air_quality_max_c:",
        "crops.csv:2: germination_min:",
        "crops.csv:3: germination_min:",
        "crops.csv:4: slug:",
        "crops.csv:5:",
    ]


def test_a_new_crop_with_mistakes_is_still_known_by_name(read):
    """A want for a new crop is not called unknown only because its row has another mistake."""
    tables, problems = read(
        "slug,like,window_d\noak,lettuce-looseleaf,soon\nelm,lettuce-elm,\nash,,\nfir,mint,4,4\n"
    )
    assert len(problems) == 4
    assert {"oak", "elm", "ash", "fir"} <= set(tables.crops)


def test_a_new_crop_may_be_written_out_in_full(read):
    """Without like a new crop has every required column; the one left out is asked for by name."""
    fields = SHIPPED.crops["radish"].model_dump(exclude={"sources"}) | {"slug": "daikon", "name": "Daikon"}
    cells = {name: "" if value is None else str(value) for name, value in fields.items()}
    text = ",".join(cells) + "\n" + ",".join(f'"{cell}"' for cell in cells.values()) + "\n"
    tables, problems = read(text)
    assert problems == []
    assert tables.crops["daikon"] == SHIPPED.crops["radish"].model_copy(
        update={"slug": "daikon", "name": "Daikon", "sources": tables.crops["daikon"].sources}
    )
    assert {source.known for source in tables.crops["daikon"].sources.values()} == {"yours"}
    _, problems = read(text.replace('"Raphanus sativus"', ""))
    assert problems == ["crops.csv:2: latin: found nothing, expected a text of 1 to 60 characters"]


def shipped_texts():
    names = ("columns", "crops", "emergence", "lamps", "sources", "allergens", "common_names")
    return {f"{n}.csv": crop_tables().joinpath(f"{n}.csv").read_text(encoding="utf-8") for n in names}


@pytest.mark.parametrize(
    ("name", "old", "new", "message"),
    [
        (
            "crops.csv", ",Kew SID,", ",Kew SDI,",
            'crops/crops.csv:17: source: found "Kew SDI", expected a key of sources.csv, did you '
            'mean "Kew SID"?',
        ),
        (
            "crops.csv", "lettuce-romaine,", "lettuce-butterhead,",
            'crops/crops.csv:40: column: found "name" again, expected each value once, line 2 has it',
        ),
        (
            "emergence.csv", "lettuce,5,15,", "lettuce,0,15,",
            "crops/emergence.csv:3: air_c: found 0, expected above the 0 before",
        ),
        (
            "emergence.csv", "lettuce,5,15,0.98", "lettuce,5,15,98",
            'crops/emergence.csv:3: stand: found "98", expected a number from 0 to 1 (share), looks '
            'like percent: 0.98',
        ),
        (
            "lamps.csv", "HPS,1.02,", "HPS,,",
            "crops/lamps.csv:10: efficacy_umol_j: found nothing, expected a number from 0.1 to 5 (µmol/J)",
        ),
        (
            "sources.csv", "key,citation,seen", "key,citation,sene",
            "crops/sources.csv:1: seen: found no such column, expected a text of 1 to 60 characters",
        ),
    ],
    ids=["source", "slug", "order", "share", "blank", "header"],
)  # fmt: skip
def test_a_slip_in_the_shipped_tables_is_told(name, old, new, message):
    """An editor of the shipped tables gets the same message for a mistake as a user."""
    texts = shipped_texts()
    assert old in texts[name]
    texts[name] = texts[name].replace(old, new, 1)
    tables, problems = build_tables(texts)
    assert tables is None
    assert message in [str(problem) for problem in problems]


def test_the_shipped_tables_pass_their_own_checks():
    """No crop that comes with cropcal has a problem."""
    assert [slip for crop in SHIPPED.crops.values() for slip in check_crop(crop)] == []


def test_reading_needs_no_heavy_library():
    """The tables are read without pandas, so that checks and help stay quick."""
    code = (
        "import sys; from cropcal.reading.crops.read import read_crop_tables; read_crop_tables(None); "
        "print([name for name in ('pandas', 'numpy', 'matplotlib', 'highspy') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


NUMBER = Column("x", "number", -5, 40)


@given(st.floats(-5, 40).map(lambda number: round(number, 6)))
def test_a_decimal_comma_means_the_same_number(number):
    """A number written with a comma is the one written with a point, where commas part no cells."""
    text = f"{number:f}"
    assert value_of(NUMBER, text) == pytest.approx(number)
    assert value_of(NUMBER, text.replace(".", ","), decimal_comma=True) == value_of(NUMBER, text)
    assert isinstance(value_of(NUMBER, text.replace(".", ",")), Bad)


def pieces():
    """Return a strategy of bits that a broken crops.csv may be made of."""
    columns = st.sampled_from([*crop_columns(), "like", "colour", ""])
    numbers = st.sampled_from(["nan", "1e999", "-3", "0", "1", "4,5", "4.5", "80", "9" * 400, "14 d"])
    words = st.sampled_from(
        ["radish", "oak", "kale", "none", "heads", "g", "shoots", "tray", "a" * 300, " + "]
    )
    odd = st.sampled_from(["", '"', '""', "\0", "\x0b", "\N{LINE SEPARATOR}"])
    marks = st.sampled_from([",", ";", "\n", "\r\n", "\t", '"', " ", "\N{BYTE ORDER MARK}"])
    return st.one_of(columns, numbers, words, odd, marks, st.text(max_size=3))


def lay(data):
    """Read bytes as a user's crops.csv and return its problems."""
    text, problems = decode(data, "crops.csv")
    if text is None:
        return problems
    table, problems = parse(text, "crops.csv")
    if table is None:
        return problems
    tables, more = lay_over(SHIPPED, table)
    for crop in tables.crops.values():
        assert check_crop(crop) == []
        assert all(key in tables.sources for source in crop.sources.values() for key in source.keys)
        assert crop.emergence_curve in tables.emergence
    return [*problems, *more]


def told_on_one_line(problems):
    for problem in problems:
        assert str(problem).isprintable(), problem
        assert len(str(problem)) < 600


@given(st.binary(max_size=200))
@settings(max_examples=examples(200))
def test_no_bytes_raise(data):
    """Whatever the bytes of a crops.csv, it gives crops or problems, never an error."""
    told_on_one_line(lay(data))


@given(st.lists(pieces(), max_size=60).map("".join))
@settings(max_examples=examples(300))
def test_no_text_raises(text):
    """Whatever is put together from columns, cells and marks gives sound crops or problems on one line."""
    told_on_one_line(lay(text.encode(errors="surrogatepass")))


@given(st.data())
@settings(max_examples=examples(200), suppress_health_check=[HealthCheck.too_slow])
def test_no_mutation_of_a_good_file_raises(data):
    """A good file with some bits replaced, doubled or cut gives sound crops or problems on one line."""
    header = "slug,like,dli_target_mol_m2_d,window_d,keeping_d,kind,unit,nursery_d,cuts_max,light_source"
    lines = [
        "radish,,14,5,6,bunch,g,0,1,a packet",
        "oak,lettuce-looseleaf,15,7,,head,heads,14,1,",
        "mint,,,,,,,,3,",
    ]
    parts = ",".join([header + "\n" + "\n".join(lines) + "\n"]).replace("\n", ",\n,").split(",")
    for _ in range(data.draw(st.integers(1, 4))):
        place = data.draw(st.integers(0, len(parts) - 1))
        parts[place : place + data.draw(st.integers(0, 2))] = data.draw(st.lists(pieces(), max_size=2))
        if not parts:
            break
    told_on_one_line(lay(",".join(parts).encode(errors="surrogatepass")))

"""A crops.csv with one row a value, the user's own and the shipped one."""

import pytest

from cropcal.reading.crops.read import YOURS, build_tables, read_crop_tables
from cropcal.records.crop import ValueSource
from cropcal.shipped import crop_tables

SHIPPED, _ = read_crop_tables(None)
MINE = ValueSource(known="yours", keys=(YOURS,))


@pytest.fixture
def read(tmp_path):
    """Return a reader: the content of a crops.csv -> tables, and its problems as text without the path."""

    def read_text(content):
        path = tmp_path / "crops.csv"
        path.write_text(content, encoding="utf-8")
        tables, problems = read_crop_tables(tmp_path)
        return tables, [str(problem).replace(f"{path}", "crops.csv") for problem in problems]

    return read_text


def test_a_row_changes_one_value(read):
    """A value and whose it is change; nothing else does, whether rows of a crop are adjacent or not."""
    tables, problems = read(
        "crop,column,value\nradish,window_d,6\nmint,window_d,8\nradish,photoperiod_max_h,14\n"
    )
    assert problems == []
    before, after = SHIPPED.crops["radish"], tables.crops["radish"]
    assert after == before.model_copy(
        update={
            "window_d": 6,
            "photoperiod_max_h": 14.0,
            "photoperiod_reason": f"given in {YOURS}",
            "sources": {
                **before.sources, "window_d": MINE, "photoperiod_max_h": MINE, "photoperiod_reason": MINE,
            },
        }
    )  # fmt: skip
    assert tables.crops["mint"].window_d == 8


def test_the_whole_shipped_table_may_be_copied(read):
    """All rows of the shipped table beside a space give the same crops again, sources and all."""
    tables, problems = read(crop_tables().joinpath("crops.csv").read_text(encoding="utf-8"))
    assert problems == []
    assert tables == SHIPPED


def test_both_forms_give_the_same_crop(read):
    """The same values with the same source, as one row a crop or as one row a value."""
    wide, _ = read("slug,like,name,height_cm,window_d,source\noak,lettuce-looseleaf,Oak,22,9,packet\n")
    long, problems = read(
        "crop,column,value,source\noak,like,lettuce-looseleaf,\noak,name,Oak,\noak,height_cm,22,packet\n"
        "oak,window_d,9,packet\n"
    )
    assert problems == []
    assert long.crops["oak"] == wide.crops["oak"]
    assert long.crops["oak"].source_of("height_cm").keys == ("packet",)


def test_how_a_value_is_known_may_be_said(read):
    """A word stands for how it is known; without a source, print is the user's own."""
    tables, problems = read(
        "crop,column,value,source,known,note\n"
        "radish,window_d,6,,memory,a hunch\n"
        "radish,height_cm,22,,printed,\n"
        "radish,anchor_days,30,packet + assumed,,\n"
    )
    assert problems == []
    radish = tables.crops["radish"]
    assert radish.source_of("window_d") == ValueSource(known="memory", note="a hunch")
    assert radish.source_of("height_cm") == ValueSource(known="printed", keys=(YOURS,))
    assert radish.source_of("anchor_days") == ValueSource(known="assumed", keys=("packet",))


def test_none_empties_an_optional_value(read):
    """What is none is not known, and takes the day's reason with it."""
    tables, problems = read("crop,column,value\nspinach-baby,photoperiod_max_h,none\n")
    assert problems == []
    assert tables.crops["spinach-baby"].photoperiod_max_h is None


def test_semicolons_and_decimal_commas(read):
    """A spreadsheet of the continent writes 0,9."""
    tables, problems = read("crop;column;value;unit\nradish;germination_min;0,9;share\n")
    assert problems == []
    assert tables.crops["radish"].germination_min == 0.9


BAD = {
    "unknown column": (
        "crop,column,value\nmint,windw_d,5\n",
        'crops.csv:2: column: found "windw_d", expected a column of the crop tables, did you '
        'mean "window_d"?',
    ),
    "no column": (
        "crop,column,value\nmint,,5\n",
        "crops.csv:2: column: found nothing, expected a column of the crop tables",
    ),
    "another unit": (
        "crop,column,value,unit\n\nmint,seed_g_per_1000,80,mg\n",
        'crops.csv:3: unit: found "mg", expected "g", seed_g_per_1000 is always in g',
    ),
    "a unit too many": (
        "crop,column,value,unit\nmint,name,Mint,g\n",
        'crops.csv:2: unit: found "g", expected nothing: name has no unit',
    ),
    "out of bounds": (
        "crop,column,value\nmint,air_base_c,4\nmint,germination_min,50\n",
        'crops.csv:3: germination_min: found "50", expected a number from 0.05 to 1 (share), looks like '
        "percent: 0.5",
    ),
    "no value": (
        "crop,column,value\nmint,window_d,\n",
        "crops.csv:2: window_d: found nothing, expected a whole number from 1 to 60 (d)",
    ),
    "the same value again": (
        "crop,column,value\nmint,window_d,5\nmint,window_d,6\n",
        'crops.csv:3: column: found "window_d" again, expected each value once, line 2 has it',
    ),
    "no crop": (
        "crop,column,value\n,window_d,5\n",
        "crops.csv:2: crop: found nothing, expected the slug of a crop",
    ),
    "unknown like": (
        "crop,column,value\noak,name,Oak\noak,like,lettuce-loosleaf\n",
        'crops.csv:3: like: found "lettuce-loosleaf", expected the slug of a crop, did you mean '
        '"lettuce-looseleaf"?',
    ),
    "not in order": (
        "crop,column,value\nmint,window_d,5\nmint,air_max_c,20\n",
        "crops.csv:3: air_max_c: found 20, expected above the optimum, 27.8",
    ),
    "unknown word": (
        "crop,column,value,known\nmint,window_d,5,print\n",
        'crops.csv:2: known: found "print", expected one of "printed", "derived", "kin", "practice", '
        '"memory", "assumed", did you mean "printed"?',
    ),
    "no crop column": (
        "corp,column,value\nmint,window_d,5\n",
        "crops.csv:1: crop: found no such column, expected a column with each row's crop",
    ),
}


@pytest.mark.parametrize("mistake", list(BAD))
def test_a_mistake_has_its_line(mistake, read):
    """One line that says where, what was found, what was expected and what to do."""
    content, message = BAD[mistake]
    tables, problems = read(content)
    assert message in problems
    assert len(problems) == (2 if mistake == "no crop column" else 1)
    assert tables is not None


def shipped_with(old, new):
    names = ("columns", "crops", "emergence", "lamps", "sources", "allergens", "common_names")
    texts = {f"{n}.csv": crop_tables().joinpath(f"{n}.csv").read_text(encoding="utf-8") for n in names}
    assert old in texts["crops.csv"]
    tables, problems = build_tables(texts | {"crops.csv": texts["crops.csv"].replace(old, new, 1)})
    assert tables is None
    return [problem.expected for problem in problems]


def test_the_shipped_table_must_say_how_each_value_is_known():
    """No word, no source of something printed, or a word in place of a source is a mistake."""
    row = "lettuce-butterhead,seed_g_per_1000,1,g,Kew SID,printed,"
    assert shipped_with(row, row.replace("printed", "")) == [
        'one of "printed", "derived", "kin", "practice", "memory", "assumed"'
    ]
    assert shipped_with(row, row.replace("Kew SID", "")) == ["a key of sources.csv"]
    assert shipped_with(row, row.replace("Kew SID", "from memory")) == ["a key of sources.csv"]


def test_old_words_in_the_wide_form_still_count(read):
    """Words that were keys once say how a value is known; the source of a group is for what is filled in."""
    tables, problems = read(
        "slug,anchor_days,anchor_source,keeping_source,window_d,window_d_source,anchor_note\n"
        "radish,30,close kin + a book,from memory,6,assumed,sown in May\n"
    )
    assert problems == []
    radish = tables.crops["radish"]
    assert radish.source_of("anchor_days") == ValueSource(known="kin", keys=("a book",), note="sown in May")
    assert radish.source_of("anchor_air_c") == SHIPPED.crops["radish"].source_of("anchor_air_c")
    assert radish.source_of("keeping_d") == ValueSource(known="memory")
    assert radish.source_of("window_d") == ValueSource(known="assumed")

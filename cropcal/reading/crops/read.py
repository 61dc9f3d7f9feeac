"""The crop tables that come with cropcal, and the user's own rows laid over them."""

import re
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Final

from cropcal.problems import Problem, Where
from cropcal.reading.crops.checks import SLUG, ColumnMistake, check_crop
from cropcal.reading.crops.given import LIKE, YOURS, GivenCrop, Values
from cropcal.reading.crops.long_form import CROP, is_long, long_rows, unsourced
from cropcal.reading.crops.wide_form import wide_columns, wide_rows
from cropcal.reading.text.csv_cells import Column, read_cells, unknown_columns
from cropcal.reading.text.csv_table import CsvTable, parse, read_file
from cropcal.reading.text.source import in_order, shorten
from cropcal.reading.text.suggestions import did_you_mean, nearest
from cropcal.records.crop import (
    Crop,
    CropTables,
    EmergenceCurve,
    Lamp,
    Source,
    ValueSource,
    source_keys,
)
from cropcal.records.hazard import Allergen
from cropcal.shipped import crop_tables

MOST_NAMED = 4
"""Most missing columns named one by one; with more, a new crop should start from one in ``like``."""

COLUMN_COLUMNS: Final = (
    Column("column", "text", 1, 40),
    Column("unit", "text", 0, 20, required=False),
    Column("type", "text", 1, 10),
    Column("low", "number", required=False),
    Column("high", "number", required=False),
    Column("required", "text", 2, 3),
    Column("group", "text", 0, 20, required=False),
    Column("meaning", "text", 1, 200),
)
EMERGENCE_COLUMNS: Final = (
    Column("curve", "text", 1, 40),
    Column("air_c", "number", -10, 60, unit="C"),
    Column("days", "number", 0.5, 400, required=False, unit="d"),
    Column("stand", "number", 0, 1, required=False, unit="share"),
    Column("source", "text", 1, 200),
)
LAMP_COLUMNS: Final = (
    Column("lamp", "text", 1, 40),
    Column("efficacy_umol_j", "number", 0.1, 5, unit="umol/J"),
    Column("efficacy_low_umol_j", "number", 0.1, 5, unit="umol/J"),
    Column("efficacy_high_umol_j", "number", 0.1, 5, unit="umol/J"),
    Column("efficacy_source", "text", 1, 200),
    Column("lux_per_umol", "number", 5, 150, required=False, unit="lux/umol"),
    Column("lux_source", "text", 0, 200, required=False),
    Column("clearance_1_kw_m", "number", 0.05, 3, unit="m"),
    Column("clearance_source", "text", 1, 200),
    Column("dangers", "text", 0, 60, required=False),
    Column("dangers_source", "text", 0, 200, required=False),
)
ALLERGEN_COLUMNS: Final = (
    Column("allergen", "text", 1, 40),
    Column("words", "text", 1, 200),
    Column("sure", "text", 3, 7),
    Column("source", "text", 1, 200),
)
SOURCE_COLUMNS: Final = (
    Column("key", "text", 1, 60),
    Column("citation", "text", 1, 300),
    Column("seen", "text", 1, 60),
)
COMMON_NAME_COLUMNS: Final = (
    Column("name", "text", 2, 60),
    Column("crop", "text", 2, 40),
    Column("known", "text", 1, 40),
)


def read_crop_tables(folder: Path | None) -> tuple[CropTables | None, list[Problem]]:
    """Return the shipped crop tables with ``crops.csv`` of a folder laid over them, and all problems.

    Parameters
    ----------
    folder
        The user's folder; None for the shipped tables alone. A missing ``crops.csv`` is no problem.

    Returns
    -------
    tuple
        None if the shipped tables cannot be read. Where the user's rows have problems, what could be
        read of them is in the tables, so that other files can be checked against their slugs.
    """
    shipped, problems = shipped_tables()
    path = None if folder is None else folder / "crops.csv"
    if shipped is None or path is None or not path.exists():
        return shipped, list(problems)
    text, unread = read_file(path)
    if text is None:
        return shipped, unread
    table, problems_of_form = parse(text, str(path))
    if table is None:
        return shipped, problems_of_form
    tables, more = lay_over(shipped, table)
    return tables, in_order([*problems_of_form, *more])


@cache
def shipped_tables() -> tuple[CropTables | None, tuple[Problem, ...]]:
    """Return the tables that come with cropcal, and what is wrong with them (nothing, if installed whole)."""
    try:
        folder = crop_tables()
    except FileNotFoundError as error:
        return None, (Problem(Where("crops"), "", str(error), "the tables that come with cropcal"),)
    names = ("columns", "crops", "emergence", "lamps", "sources", "allergens", "common_names")
    texts = {f"{name}.csv": folder.joinpath(f"{name}.csv").read_text(encoding="utf-8-sig") for name in names}
    return build_tables(texts)


def build_tables(texts: Mapping[str, str]) -> tuple[CropTables | None, tuple[Problem, ...]]:
    """Return the tables, given by file name, as records; None with the problems if there are any."""
    parsed: dict[str, CsvTable] = {}
    problems: list[Problem] = []
    for name, text in texts.items():
        table, wrong = parse(text, f"crops/{name}")
        problems += wrong
        if table is not None:
            parsed[name] = table
    if problems:
        return None, tuple(problems)
    columns, wrong_columns = _columns(parsed["columns.csv"])
    given, wrong_crops = long_rows(parsed["crops.csv"], columns)
    curves, wrong_curves = _emergence(parsed["emergence.csv"])
    lamps, wrong_lamps = _rows(parsed["lamps.csv"], _by_name(LAMP_COLUMNS), "lamp")
    sources, wrong_sources = _rows(parsed["sources.csv"], _by_name(SOURCE_COLUMNS), "key")
    allergens, wrong_allergens = read_cells(parsed["allergens.csv"], _by_name(ALLERGEN_COLUMNS))
    problems = [
        *wrong_columns, *wrong_crops, *wrong_curves, *wrong_lamps, *wrong_sources, *wrong_allergens
    ]  # fmt: skip
    if problems:
        return None, tuple(problems)
    tables = CropTables(
        crops={},
        emergence=curves,
        lamps={name: Lamp.model_validate(values) for name, (_, values) in lamps.items()},
        sources={key: Source.model_validate(values) for key, (_, values) in sources.items()},
        allergens=tuple(
            Allergen(
                allergen=values["allergen"],
                words=tuple(values["words"].split("; ")),
                sure=values["sure"] == "yes",
                source=values["source"],
            )
            for _, values in allergens
        ),
    )
    crops, problems = _laid_over(tables, parsed["crops.csv"], given, columns)
    names, wrong_names = _common_names(parsed["common_names.csv"], crops)
    problems += wrong_names
    problems += unsourced(parsed["crops.csv"], columns, tables.sources)
    whole = tables.model_copy(update={"crops": crops, "common_names": names})
    return None if problems else whole, tuple(problems)


@cache
def crop_columns() -> dict[str, Column]:
    """Return the columns of a crop row by name: type, unit, bounds, group, meaning."""
    text = crop_tables().joinpath("columns.csv").read_text(encoding="utf-8-sig")
    table, _ = parse(text, "crops/columns.csv")
    return {} if table is None else _columns(table)[0]


def lay_over(shipped: CropTables, table: CsvTable) -> tuple[CropTables, list[Problem]]:
    """Return crop tables with the rows of a user's table laid over them, and what is wrong with those.

    A row whose slug is known overrides the columns that it fills in. One with a new slug starts from
    the crop under ``like``, or fills in every required column.
    """
    columns = crop_columns()
    if "slug" not in table.columns and not is_long(table):
        near = nearest("slug", table.columns)
        hint = f'is it "{shorten(near)}"?' if near else ""
        expected = "a column with each crop's slug"
        missing = table.problem(table.header_line, "slug", "no such column", expected, hint)
        return shipped, [*unknown_columns(table, wide_columns(columns)), missing]
    given, problems = (long_rows if is_long(table) else wide_rows)(table, columns)
    crops, wrong = _laid_over(shipped, table, given, columns)
    own = {key for crop in crops.values() for key in _keys(crop)} - shipped.sources.keys()
    sources = shipped.sources | {key: _own_source(key) for key in sorted(own)}
    return shipped.model_copy(update={"crops": crops, "sources": sources}), [*problems, *wrong]


def _laid_over(
    tables: CropTables, table: CsvTable, given: Iterable[GivenCrop], columns: Mapping[str, Column]
) -> tuple[dict[str, Crop], list[Problem]]:
    """Return the crops of the tables with what is given laid over them in its order, and what is wrong."""
    crops = dict(tables.crops)
    lines: dict[str, int] = {}
    problems = []
    for row in given:
        slips = _slug_slips(row.slug, lines)
        if not slips:
            lines[row.slug] = row.line
            crop = None
            if row.is_whole and columns["slug"].low <= len(row.slug) <= columns["slug"].high:
                crop, slips = _overridden(row, crops, columns)
            if crop is not None:
                slips += [*check_crop(crop), *_unknown_curve(crop, tables)]
            if crop is not None and not slips:
                crops[row.slug] = crop
            elif crops:
                crops[row.slug] = _stand_in(row.slug, row.values.get("like", ""), crops)
        for slip in slips:
            shown = slip._replace(column=CROP) if slip.column == "slug" and is_long(table) else slip
            problems.append(table.problem(row.line_of(slip.column), *shown))
    return crops, problems


def _slug_slips(slug: str, lines: Mapping[str, int]) -> list[ColumnMistake]:
    """Return what is wrong with a row's slug, given the lines of those before it."""
    if not slug:
        return [ColumnMistake("slug", "nothing", "the slug of a crop")]
    if not SLUG.fullmatch(slug):
        expected = "lower-case letters and digits, separated by single hyphens"
        parts = "-".join(re.findall("[a-z0-9]+", slug.casefold()))
        return [
            ColumnMistake(
                "slug", f'"{shorten(slug)}"', expected, f'write "{shorten(parts)}"' if parts else ""
            )
        ]
    if slug in lines:
        return [ColumnMistake("slug", f'"{slug}" again', "each slug once", f"line {lines[slug]} has it")]
    return []


def _stand_in(slug: str, like: str, crops: Mapping[str, Crop]) -> Crop:
    """Return a stand-in crop with the slug, so that a want for a faulty crop is not also called unknown."""
    crop = crops.get(slug) or crops.get(like) or next(iter(crops.values()))
    return crop.model_copy(update={"slug": slug})


def _overridden(
    given: GivenCrop, crops: Mapping[str, Crop], columns: Mapping[str, Column]
) -> tuple[Crop | None, list[ColumnMistake]]:
    """Return a crop with the given values over those of the crop it changes or is like."""
    slug, like = given.slug, given.values.get("like")
    if like is not None and slug in crops:
        hint = "leave like blank to change this crop, or give the new one a slug of its own"
        return None, [ColumnMistake("like", f'"{shorten(like)}"', f'a new slug, for "{slug}" exists', hint)]
    if like is not None and like not in crops:
        hint = did_you_mean(like, list(crops))
        return None, [ColumnMistake("like", f'"{shorten(like)}"', "the slug of a crop", hint)]
    start: Values = {column.name: "" if column.type == "text" else None for column in columns.values()}
    base = crops.get(like or slug)
    if base is not None:
        start = {name: getattr(base, name) for name in columns}
    if slug not in crops and "name" not in given.values:
        start["name"] = slug.replace("-", " ")
    values = {**start, **{name: value for name, value in given.values.items() if name != LIKE.name}}
    values["slug"] = slug
    if "photoperiod_max_h" in given.values and "photoperiod_reason" not in given.values:
        values["photoperiod_reason"] = f"given in {YOURS}"
    missing = [c.name for c in columns.values() if c.required and values[c.name] in (None, "")]
    if missing:
        return None, _missing(slug, missing, columns, crops)
    return Crop.model_validate({**values, "sources": _sources(given, base, columns)}), []


def _sources(given: GivenCrop, base: Crop | None, columns: Mapping[str, Column]) -> dict[str, ValueSource]:
    """Return whose each value is: as the table says, else the user's for what is given, else as before."""
    sources = {} if base is None else dict(base.sources)
    touched = {*given.values}
    if "photoperiod_max_h" in touched:
        touched.add("photoperiod_reason")
    for name, column in columns.items():
        if column.group and name in {*touched, *given.sources}:
            sources[name] = given.sources.get(name, ValueSource(known="yours", keys=(YOURS,)))
    return {name: sources[name] for name in columns if name in sources}


def _missing(
    slug: str, missing: list[str], columns: Mapping[str, Column], crops: Mapping[str, Crop]
) -> list[ColumnMistake]:
    """Return a slip for each column a new crop lacks, or one for them all if it lacks many."""
    if len(missing) <= MOST_NAMED:
        return [ColumnMistake(name, "nothing", columns[name].expected) for name in missing]
    near = nearest(slug, crops)
    hint = f'did you mean "{near}"? ' if near else ""
    return [
        ColumnMistake(
            "slug",
            f'"{slug}", a new crop that lacks {len(missing)} columns ({", ".join(missing[:3])}, ...)',
            "the slug of a crop in the table, or all required columns",
            f"{hint}A new crop may name one to start from in a column like",
        )
    ]


def _unknown_curve(crop: Crop, tables: CropTables) -> list[ColumnMistake]:
    curve = crop.emergence_curve
    if curve in tables.emergence:
        return []
    hint = did_you_mean(curve, list(tables.emergence))
    return [ColumnMistake("emergence_curve", f'"{shorten(curve)}"', "a curve of emergence.csv", hint)]


def _keys(crop: Crop) -> Iterable[str]:
    return (key for source in crop.sources.values() for key in source.keys)


def _own_source(key: str) -> Source:
    return Source(key=key, citation=f"named in {YOURS}", seen="yours")


def _by_name(columns: Iterable[Column]) -> dict[str, Column]:
    return {column.name: column for column in columns}


def _columns(table: CsvTable) -> tuple[dict[str, Column], list[Problem]]:
    rows, problems = _rows(table, _by_name(COLUMN_COLUMNS), "column")
    columns = {
        name: Column(
            name=name,
            type=values["type"],
            low=float("-inf") if values["low"] is None else values["low"],
            high=float("inf") if values["high"] is None else values["high"],
            required=values["required"] == "yes",
            unit=values["unit"],
            group=values["group"],
            meaning=values["meaning"],
        )
        for name, (_, values) in rows.items()
    }
    return columns, problems


def _rows(
    table: CsvTable, columns: Mapping[str, Column], key: str
) -> tuple[dict[str, tuple[int, Values]], list[Problem]]:
    """Return the rows of a whole table by their key, each with its line."""
    filled_rows, problems = read_cells(table, columns)
    rows: dict[str, tuple[int, Values]] = {}
    for row, values in filled_rows:
        name = values.get(key, "")
        if name in rows:
            problems.append(table.problem(row.line, key, f'"{name}" again', "each of them only once"))
        rows[name] = row.line, values
    return rows, problems


def _common_names(
    table: CsvTable, crops: Mapping[str, Crop]
) -> tuple[dict[str, tuple[str, ...]], list[Problem]]:
    """Return slugs by another name, and the rows whose crop is not in the table."""
    filled_rows, problems = read_cells(table, _by_name(COMMON_NAME_COLUMNS))
    names: dict[str, tuple[str, ...]] = {}
    for row, values in filled_rows:
        slug = values.get("crop", "")
        if slug not in crops:
            problems.append(table.problem(row.line, "crop", f'"{shorten(slug)}"', "the slug of a crop"))
        name = values.get("name", "").casefold()
        names[name] = (*names.get(name, ()), slug)
    return names, problems


def _emergence(table: CsvTable) -> tuple[dict[str, EmergenceCurve], list[Problem]]:
    """Return the curves; the rows of one curve are adjacent, from cold to warm."""
    filled_rows, problems = read_cells(table, _by_name(EMERGENCE_COLUMNS))
    nodes: dict[str, list[Values]] = {}
    for row, values in filled_rows:
        if problems:
            break
        curve = nodes.setdefault(values["curve"], [])
        if curve and curve[-1]["air_c"] >= values["air_c"]:
            expected = f"above the {curve[-1]['air_c']:g} before"
            problems.append(table.problem(row.line, "air_c", f"{values['air_c']:g}", expected))
        curve.append(values)
    curves = {
        name: EmergenceCurve(
            curve=name,
            air_c=tuple(node["air_c"] for node in curve),
            days=tuple(node["days"] for node in curve),
            stand=tuple(node["stand"] for node in curve),
            source=" + ".join(dict.fromkeys(key for node in curve for key in source_keys(node["source"]))),
        )
        for name, curve in nodes.items()
        if not problems
    }
    return curves, problems

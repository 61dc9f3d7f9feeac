"""What a row of the space is called in its form, and its first values in a few words."""

from collections.abc import Mapping
from typing import Any, Final

from cropcal.reading.space.setting_key import TABLES as RECORDS
from cropcal.reading.text.key_types import fields
from cropcal.reading.text.source import SourceText
from cropcal.records.crop import CropTables
from cropcal.serve.space_cards import ROWS
from cropcal.serve.space_values import shown
from cropcal.serve.space_words import CHOICES, TABLES, unit_of

_FACTS: Final[Mapping[str, tuple[str, ...]]] = {
    "place": ("name", "timezone"),
    "zone": ("length_m", "width_m", "lit", "photoperiod_h"),
    "fixture": ("count", "lamp", "watts"),
    "bed": ("zone", "sites", "rows", "columns"),
    "reading": ("on",),
    "want": ("per_week", "from", "until"),
    "plan": ("start", "weeks", "work_days", "sow"),
    "tariff": ("currency",),
    "tariff.rate": ("per_kwh", "hours"),
    "load": ("watts", "on", "hours_per_day"),
    "chore": ("every_days",),
    "growing": ("bed", "sites"),
    "seed": ("seeds", "g"),
}
_FACT_WORDS: Final[Mapping[str, str]] = {
    "rows": "rows ", "columns": "columns ", "sites": "places ", "from": "from ", "until": "until ",
    "every_days": "every ", "zone": "in ", "count": "", "on": "on ", "sow": "sown ",
}  # fmt: skip


def called(source: SourceText, tables: CropTables, table: str, place: int) -> str:
    """Return what a row is called, with what it is."""
    row = source.get((table, place))
    return f"{TABLES[table].row} {title_of(table, row if isinstance(row, dict) else {}, tables)}"


def title_of(table: str, row: Mapping[str, Any], tables: CropTables) -> str:
    """Return what a table, or a row of one, is called."""
    if table in ("fixture", "reading"):
        zone = str(row.get("zone" if table == "fixture" else "bed", ""))
        return f"over {zone}" if zone else TABLES[table].row
    if table == "want":
        crops = row.get("crops")
        names = [_crop(slug, tables) for slug in crops] if isinstance(crops, list) else []
        return " or ".join(names) or TABLES[table].row
    if table in ("growing", "seed"):
        return _crop(row.get("crop", ""), tables)
    if table in ROWS:
        return str(row.get("name") or ("base" if table == "tariff.rate" else TABLES[table].row))
    return TABLES[table].title


def _crop(slug: Any, tables: CropTables) -> str:
    crop = tables.crops.get(slug) if isinstance(slug, str) else None
    return crop.name if crop else str(slug)


def facts_of(table: str, row: Mapping[str, Any]) -> str:
    """Return the first values of a row in a few words."""
    parts = []
    for key in _FACTS.get(table, ()):
        value = row.get(key)
        if value is None or key not in fields(RECORDS[table]):
            continue
        kind = fields(RECORDS[table])[key]
        unit = unit_of(key)
        text = shown(value, kind, key).split("\n")[0]
        text = ", ".join(CHOICES.get(part, part) for part in text.split(", "))
        before = _FACT_WORDS.get(key, "")
        after = f" {unit}" if unit else "" if key != "per_week" else f" {row.get('unit', '')}".rstrip()
        parts.append(f"{before}{text}{after}{' a week' if key == 'per_week' else ''}")
    return ", ".join(parts)

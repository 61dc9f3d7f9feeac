"""What ``cropcal crops --sources NAME`` prints: whose each value of a crop is."""

from collections.abc import Mapping
from itertools import groupby

from cropcal.records.crop import IN_PRINT, Crop, Source, ValueSource
from cropcal.records.value_words import VALUE_WORDS, bare
from cropcal.show import text
from cropcal.units import signs

WIDTH = 100
WIDEST_VALUE = 18
"""Columns that a value may take beside its name; a longer text stands below it."""


def crop_sources(crop: Crop, sources: Mapping[str, Source], units: Mapping[str, str]) -> str:
    """Return every value of a crop by group, how it is known and its sources, which are cited at the end.

    ``units`` are those of the columns.
    """
    keys = list(dict.fromkeys(key for source in crop.sources.values() for key in source.keys))
    numbers = {key: str(number) for number, key in enumerate(keys, 1)}
    columns = [column for column in crop.sources if getattr(crop, column) is not None]
    groups = groupby(sorted(columns, key=_place), key=lambda column: VALUE_WORDS[column].group)
    name_width = max((len(column) for column in columns), default=0)
    blocks = []
    for group, inside in groups:
        lines = []
        for column in inside:
            value = text.clean(f"{bare(crop, column)} {signs(units.get(column, ''))}".rstrip())
            lines.append(_line(column, value, crop.sources[column], numbers, name_width))
        blocks.append(text.section(group.capitalize(), "\n".join(lines)))
    printed = sum(source.known in IN_PRINT for source in crop.sources.values())
    note = text.wrap(
        "printed: given in the source for this crop. derived: worked out from what is given there. kin:"
        " printed"
        " for a relative, another form of the species, or a class such as leafy greens. practice: common"
        " practice. memory: not looked up. assumed: our own choice. A source beside the last three is"
        " only what guided the choice. yours: from your crops.csv.",
        WIDTH,
    )
    cited = "\n".join(
        text.wrap(_citation(key, sources), WIDTH, first=f"{numbers[key]:>3}  ", later="     ") for key in keys
    )
    return (
        f"{text.clean(crop.name)}, {text.clean(crop.latin)} ({crop.slug}):"
        f" {printed} of {len(crop.sources)} values are in print\n"
        + "".join(blocks)
        + f"\n{note}\n"
        + text.section("Sources", cited)
    )


def _place(column: str) -> int:
    """Return where a value stands among all, the values of a group together."""
    groups = list(dict.fromkeys(words.group for words in VALUE_WORDS.values()))
    return groups.index(VALUE_WORDS[column].group)


def _line(column: str, value: str, source: ValueSource, numbers: Mapping[str, str], name_width: int) -> str:
    """Return one value on a line, its note and a longer text wrapped at the end of it."""
    is_long = len(value) > WIDEST_VALUE
    cited = ", ".join(numbers[key] for key in source.keys)
    shown = "" if is_long else value
    head = f"  {column:<{name_width}}  {shown:<{WIDEST_VALUE}}  {source.known:<8}  {cited:<9}"
    words = "; ".join(part for part in (value if is_long else "", source.note) if part)
    return text.wrap(words, WIDTH, first=f"{head}  " if words else head, later=" " * (len(head) + 2))


def _citation(key: str, sources: Mapping[str, Source]) -> str:
    source = sources.get(key)
    if source is None or source.citation == key:
        return key
    return f"{key}: {source.citation}. Seen: {source.seen}."

"""Which crop a name means: a slug, a printed name, a common name, a family, or part of a name.

One table for everything that is typed: notes, arguments, ``--set``, space.toml, the questions of ``new``. The
common names are in ``crops/common_names.csv``; a family is the first word of slugs ("lettuce").
"""

from collections.abc import Collection, Mapping
from typing import Final

from cropcal.reading.text.suggestions import did_you_mean, nearest
from cropcal.records.answers import Mix
from cropcal.records.crop import CropTables

MIXES: Final[dict[Mix, tuple[str, ...]]] = {
    "salad": (
        "salad leaves", "salad greens", "salad green", "salads", "salad", "leafy greens", "greens",
        "mixed leaves", "leaves", "leaf mix", "salad mix", "salad leaf", "baby leaves", "baby leaf", "salat",
    ),
    "herbs": ("kitchen herbs", "herbs", "herb", "kräuter"),
    "microgreens": ("microgreens", "micro greens", "shoots"),
}  # fmt: skip
"""Words for a mix whose crops are chosen by the lamp and the beds."""
CROPS_OF_MIX: Final[dict[Mix, tuple[str, ...]]] = {
    "salad": (
        "lettuce-baby", "mesclun", "arugula-baby", "mizuna-baby", "mustard-baby", "pak-choi-baby",
        "kale-baby", "spinach-baby", "microgreens-brassica", "pea-shoots", "lettuce-looseleaf",
        "lettuce-butterhead", "lettuce-red-leaf", "lettuce-romaine", "lettuce-batavia", "kale", "chard",
    ),
    "herbs": ("basil", "parsley", "chives", "cilantro", "dill", "mint"),
    "microgreens": ("microgreens-brassica", "pea-shoots", "sunflower-shoots"),
}  # fmt: skip
"""The crops that a mix may be made of."""


def crops_named(text: str, tables: CropTables, here: Collection[str] = ()) -> tuple[str, ...]:
    """Return the slugs of the crops that a name may mean: one if it is clear, none if it is unknown.

    Parameters
    ----------
    text
        As typed, in the singular or plural.
    tables
        The crops, the user's own included, and their common names.
    here
        Slugs of the crops that grow here: of several that a name may mean, those come first, and alone.
    """
    exact = named_exactly(text, tables)
    if exact:
        return exact
    kin = akin(text, tables)
    return tuple(slug for slug in kin if slug in here) or kin


def named_exactly(text: str, tables: CropTables) -> tuple[str, ...]:
    """Return the slugs of the crops that are called so; there may be two of a common name."""
    names = _names(tables)
    return next((names[form] for form in _forms(text) if form in names), ())


def akin(text: str, tables: CropTables) -> tuple[str, ...]:
    """Return the slugs of a family or a mix, or of the crops in whose names all the words are."""
    forms = _forms(text)
    for mix, words in MIXES.items():
        if {*forms} & {*words}:
            return tuple(slug for slug in CROPS_OF_MIX[mix] if slug in tables.crops)
    family = tuple(slug for slug in tables.crops if slug.split("-")[0] in forms)
    if family:
        return family
    for form in forms:
        asked = {*form.split()}
        parts = {
            slug
            for name, slugs in _names(tables).items()
            if asked and asked <= {*name.split()}
            for slug in slugs
        }
        if parts:
            return tuple(slug for slug in tables.crops if slug in parts)
    return ()


def nearest_crop(text: str, tables: CropTables) -> str:
    """Return a hint for a name that no crop has: the nearest of all names, or some that there are."""
    printed = {crop.name for slug, crop in tables.crops.items() if not {slug} & {*_forms(crop.name)}}
    names = {*tables.crops, *printed, *tables.common_names}
    near = nearest(text, names)
    return f'did you mean "{near}"?' if near else did_you_mean(text, list(tables.crops))


def _names(tables: CropTables) -> Mapping[str, tuple[str, ...]]:
    """Return slugs by every name in lower case; a slug or printed name beats a common one."""
    names = dict(tables.common_names)
    names |= {crop.name.casefold().replace("-", " "): (slug,) for slug, crop in tables.crops.items()}
    names |= {slug.replace("-", " "): (slug,) for slug in tables.crops}
    return {name: known for name, slugs in names.items() if (known := _in_table(slugs, tables))}


def _in_table(slugs: tuple[str, ...], tables: CropTables) -> tuple[str, ...]:
    return tuple(slug for slug in slugs if slug in tables.crops)


def _forms(text: str) -> tuple[str, ...]:
    """Return a name in lower case, with spaces for hyphens, as it is and in the singular."""
    word = " ".join(text.casefold().replace("-", " ").replace("_", " ").replace("’", "'").split())
    return tuple(dict.fromkeys((word, word.removesuffix("s"), word.removesuffix("es"))))

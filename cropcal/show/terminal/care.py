"""What ``care`` prints: the cautions that hold here. Every function returns text that ends in a newline."""

from collections.abc import Mapping, Sequence

from cropcal.records.hazard import Care, Caution
from cropcal.show import care_words, text

LAST_WORD = "These are reminders: local codes, licensed practice and makers come first."
"""Who decides."""

NOTHING_MORE = "Nothing more, going by the file and the journal."


def care(place: str, cautions: Sequence[Caution], names: Mapping[str, str], people: Care) -> str:
    """Return every caution in full, with whom to ask and where it comes from, the general ones first.

    ``names``: slug -> name of the crop; ``people``: who eats here, as the file has it.
    """
    general = [caution for caution in cautions if caution.is_general]
    here = [caution for caution in cautions if not caution.is_general]
    return (
        f"{heading(place)}\n"
        + text.section("Everywhere", text.bullets(_lines(general, names)))
        + text.section("Here", text.bullets(_lines(here, names)) or NOTHING_MORE)
        + f"\n{text.wrap(who_eats(people))}\n"
    )


def heading(place: str) -> str:
    """Return the place, and who decides."""
    return f"{text.wrap(f'{place}: what to take care of')}\n{LAST_WORD}"


def who_eats(people: Care) -> str:
    """Return what the file says about people, and how to say otherwise."""
    eaters = {
        "household": "the household eats here",
        "guests": "guests eat here",
        "school": "a school eats here",
        "frail": "people who must not fall ill eat here",
    }[people.eaten_by]
    near = "small children come near" if people.children else "no small children come near"
    otherwise = "cropcal set care.eaten_by=guests (or school, frail), care.children=true"
    return f"By the file {eaters}, {near}. If not: {otherwise}."


def _lines(cautions: Sequence[Caution], names: Mapping[str, str]) -> list[str]:
    return [
        f"{sentence} ({care_words.SOURCES[caution.code]})"
        for caution, sentence in zip(cautions, care_words.sentences(cautions, names), strict=True)
    ]

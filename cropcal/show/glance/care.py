"""What ``care`` prints first: the three general cautions in a line each, then those that hold here."""

from collections.abc import Mapping, Sequence

from cropcal.records.hazard import Caution
from cropcal.show import care_words, text
from cropcal.show.glance.fitting import ScreenPart
from cropcal.show.terminal.care import NOTHING_MORE, heading


def care_glance(place: str, cautions: Sequence[Caution], names: Mapping[str, str]) -> list[ScreenPart]:
    """Return a line a caution; ``names``: slug -> name of the crop."""
    general = [care_words.short(caution, names) for caution in cautions if caution.is_general]
    here = tuple(
        _fitted(f"- {care_words.short(caution, names)}") for caution in cautions if not caution.is_general
    )
    return [
        ScreenPart((), heading(place)),
        ScreenPart((), "\n".join(["Everywhere", *(f"- {line}" for line in general)])),
        ScreenPart(here, "Here" if here else f"Here\n{NOTHING_MORE}"),
    ]


def care_part(cautions: Sequence[Caution], names: Mapping[str, str]) -> ScreenPart:
    """Return the cautions of one screen for its short form, a line each."""
    lines = (f"Take care: {care_words.short(caution, names)}" for caution in cautions)
    return ScreenPart(tuple(map(_fitted, lines)))


def _fitted(line: str) -> str:
    """Return a caution in one line; where there is no room, without the zones or crops in brackets."""
    if text.display_width(line) > text.WIDTH and line.endswith(")"):
        line = line[: line.rindex(" (")]
    return text.clip(line, text.WIDTH)

"""Fit what a command says first into the lines of a usual terminal."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from cropcal.show import text
from cropcal.show.text import LINES

CARE = "Take care: mains near water; hot, bright lamps. --all has the cautions."
"""Stands for the general cautions where there is no room for them."""


CLAUSE_END = re.compile(r"; |[.] (?=[A-Z])")
LEAST_FILLED = 0.4
"""Share of the room that whole clauses must fill, lest too little is left of a sentence."""


@dataclass(frozen=True)
class ScreenPart:
    """A part of a short screen: a title that stays, and rows of which the last are left out and counted.

    A title or a row may hold several lines, which stay together. ``kind`` says what they are
    behind "and 3 more"; ``unlisted`` is how many there are beside the rows.
    """

    rows: tuple[str, ...]
    title: str = ""
    kind: str = ""
    unlisted: int = 0

    def lines(self, shown: int) -> list[str]:
        """Return its lines with that many rows."""
        left = len(self.rows) - shown + self.unlisted
        parts = [*([self.title] if self.title else []), *self.rows[:shown]]
        if left:
            parts.append(f"  and {left} more{self.kind}")
        return [line for part in parts for line in part.split("\n")]


def fitted(blocks: Sequence[ScreenPart], lines: int = LINES) -> str:
    """Return blocks with an empty line between them, in so many lines; it ends in a newline.

    Rows are left out where a block is longest, down to one row; then whole blocks, the last first.
    """
    kept = [block for block in blocks if block.rows or block.title]
    shown = [len(block.rows) for block in kept]
    while _height(kept, shown) > lines:
        long = [place for place, count in enumerate(shown) if count > 1]
        if long:
            shown[max(long, key=lambda place: len(kept[place].lines(shown[place])))] -= 1
        elif len(kept) > 1:
            kept, shown = kept[:-1], shown[:-1]
        else:
            break
    return "\n\n".join("\n".join(block.lines(count)) for block, count in zip(kept, shown, strict=True)) + "\n"


def _height(blocks: Sequence[ScreenPart], shown: Sequence[int]) -> int:
    lines = sum(len(block.lines(count)) for block, count in zip(blocks, shown, strict=True))
    return lines + max(len(blocks) - 1, 0)


def table_block(
    headers: Sequence[str], rows: Sequence[Sequence[str]], align: str, kind: str = ""
) -> ScreenPart:
    """Return a table as a block; nothing where it has no rows."""
    if not rows:
        return ScreenPart(())
    head, rule, *shown = text.table_rows(headers, rows, align)
    return ScreenPart(tuple(shown), f"{head}\n{rule}", kind)


def sentence(words: str, most: int = 3, first: str = "") -> str:
    """Return a sentence over at most so many lines, shortened with … if it is longer.

    It is shortened after a whole clause (at "; " or ". ") where enough of the room is then filled.
    """
    later = " " * len(first) + "  "
    lines = text.wrap(words, first=first, later=later).split("\n")
    if len(lines) <= most:
        return "\n".join(lines)
    for cut in reversed([match.start() for match in CLAUSE_END.finditer(words)]):
        shorter = text.wrap(f"{words[:cut]} …", first=first, later=later).split("\n")
        if len(shorter) <= most:
            if cut < most * text.WIDTH * LEAST_FILLED:
                break
            return "\n".join(shorter)
    return "\n".join([*lines[: most - 1], text.clip(f"{lines[most - 1]} …", text.WIDTH)])


def warning_block(warnings: Sequence[str], most: int = 3, title: str = "", rows: int = 1) -> ScreenPart:
    """Return the first warnings, which are the gravest, each in so many lines, and count the others."""
    shown = tuple(sentence(f"Watch out: {warning}", most) for warning in warnings[:rows])
    more = len(warnings) - len(shown)
    return ScreenPart(shown, title, " warning" if more == 1 else " warnings", more)

"""Words and units in what people read: no riddles, and one way to write a unit, a share and a range."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "cropcal"

RETIRED = {
    "told": r"\btold\b",
    "what lamps do": r"\blamps? burns?\b",
    "minds": r"\bminds\b",
    "bears": r"\bbears?\b",
    "fares": r"\bfares\b",
    "reckoned": r"\breckoned\b",
    "assumptions": r"[Tt]aken for granted",
    "seasons": r"\bdrawn seasons?\b",
    "an error is ±": r"\+-",
    "a lamp of the same kind": r"\blike it of\b|\bsuch lamps\b",
    "rules apply": r"\brules hold\b",
    "should": r"\bhad better\b",
    "no known limit": r"limit beyond",
    "a share has no blank": r"[}\d] %(?!\})",
    "µmol": r"[}\d] umol\b|\bumol/",
    "°C": r"[}\d] C\b",
    "square and cubic metres": r"[a-zµ}]/m2\b|\d m3/h|\} m3/h",
    "a range is four in five": r"give or take|(cases|seasons) of five|cases of three|80 ?%\)",
}
"""What is not said any more, by what it is about."""

INPUT = ("reading/journal/event_words.py", "reading/interview/", "show/glossary.py")
"""Modules with words that people type, which may be any."""


def prose(path: Path) -> Iterator[str]:
    """Yield each text of a module that is no docstring, with {} for what is filled in."""
    waiting: list[ast.AST] = [ast.parse(path.read_text(encoding="utf-8"))]
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.JoinedStr):
            yield "".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value
        elif not (isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)):
            waiting += ast.iter_child_nodes(node)


MODULES = sorted(
    path for path in PACKAGE.rglob("*.py") if not str(path.relative_to(PACKAGE)).startswith(INPUT)
)
TEMPLATES = sorted(PACKAGE.rglob("*.html"))


@pytest.mark.parametrize("pattern", RETIRED.values(), ids=RETIRED)
def test_texts_are_in_plain_words(pattern: str, texts: dict[str, list[str]]) -> None:
    """No text that a person may read has a retired word, or a unit written in another way."""
    found = {name: [text for text in its if re.search(pattern, text)] for name, its in texts.items()}
    assert {name: its for name, its in found.items() if its} == {}


@pytest.fixture(scope="module")
def texts() -> dict[str, list[str]]:
    shown = {
        str(path.relative_to(PACKAGE)): [text for text in prose(path) if " " in text.strip()]
        for path in MODULES
    }
    pages = {
        str(path.relative_to(PACKAGE)): re.split(r"<[^>]*>|\{[{%].*?[}%]\}", path.read_text("utf-8"))
        for path in TEMPLATES
    }
    return shown | pages

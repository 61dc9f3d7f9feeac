"""What DEVELOPERS.md and the other documents point to exists."""

import re
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[2]
PACKAGE = PROJECT / "cropcal"
DEVELOPERS = (PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8")
FOLDERS = (".", "crops", "cropcal/science", "examples", "tests/studies")
DOCUMENTS = [PROJECT / folder / "README.md" for folder in FOLDERS]
TOP = ("cropcal", "tests", "crops", "examples", ".ci")
"""Folders of the project: what begins with one of them is a path, not a file of a user's space."""
ROOTS = (PACKAGE, PACKAGE / "planning")
"""Where dotted names of modules begin."""


def in_backticks(text: str) -> set[str]:
    """Return every word between backticks, fenced blocks left out."""
    prose = re.sub(r"^```.*?^```", "", text, flags=re.DOTALL | re.MULTILINE)
    return {word for span in re.findall(r"`([^`\n]+)`", prose) for word in span.split()}


def paths(words: set[str]) -> list[str]:
    """Return the words that are paths of the project."""
    return sorted(word for word in words if "/" in word and word.split("/")[0] in TOP)


def modules(words: set[str]) -> list[str]:
    """Return the words that are dotted names of modules: their first part is a package."""
    dotted = {word for word in words if re.fullmatch(r"[a-z_]+(\.[a-z_]+)+", word)}
    return sorted(word for word in dotted if any((root / word.split(".")[0]).is_dir() for root in ROOTS))


@pytest.mark.parametrize("path", paths(in_backticks(DEVELOPERS)))
def test_a_path_in_developers_exists(path):
    """A path that is named can be opened."""
    assert list(PROJECT.glob(path)) if "*" in path else (PROJECT / path).exists()


@pytest.mark.parametrize("name", modules(in_backticks(DEVELOPERS)))
def test_a_module_in_developers_exists(name):
    """A module goes by its name within cropcal, or within cropcal.planning."""
    places = [root.joinpath(*name.split(".")) for root in ROOTS]
    assert any(place.with_suffix(".py").is_file() or place.is_dir() for place in places)


def test_a_bare_file_name_in_developers_exists():
    """A file named beside its folder is there."""
    known = {path.name for root in (PACKAGE, PROJECT / "tests") for path in root.rglob("*.py")}
    bare = {word.strip(",;()") for word in in_backticks(DEVELOPERS) if word.endswith(".py")}
    assert {name for name in bare if "/" not in name} <= known


def test_developers_names_paths_and_modules():
    """The two tests above have something to look at."""
    words = in_backticks(DEVELOPERS)
    assert len(paths(words)) > 50
    assert len(modules(words)) > 15


def test_the_tree_shows_every_package():
    """The tree at the top has each package of the code, and no other."""
    tree = re.search(r"```\ncropcal/\n(.*?)```", DEVELOPERS, re.DOTALL)
    assert tree
    shown, inside = set(), ""
    for line in tree[1].splitlines():
        depth = len(line) - len(line.lstrip())
        names = re.match(r"(?:\w+/ ?)*", line.lstrip())[0].split()
        if depth == 2 and names:
            inside = names[0]
        shown |= {name if depth == 2 else inside + name for name in names}
    packages = {
        f"{init.parent.relative_to(PACKAGE).as_posix()}/"
        for init in PACKAGE.rglob("__init__.py")
        if init.parent not in (PACKAGE, PACKAGE / "reading" / "space" / "checks")
    }
    assert shown == packages


PROSE = DEVELOPERS + "".join(path.read_text(encoding="utf-8") for path in DOCUMENTS)
SCRIPTS = sorted(set(re.findall(r"python (tests/[\w/]+\.py)", PROSE)))


@pytest.mark.parametrize("script", SCRIPTS)
def test_a_script_that_is_named_exists(script):
    """A reader who types it runs it."""
    assert (PROJECT / script).is_file()


def test_documents_name_their_scripts():
    """The tables say what makes them."""
    assert len(SCRIPTS) >= 4

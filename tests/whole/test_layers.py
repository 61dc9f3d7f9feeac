"""The house: which package may import which, who owns a heavy library, and that every room is small."""

import ast
import subprocess
import sys
from collections import defaultdict
from functools import cache
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "cropcal"

BASE = {"base"}
KNOWN = BASE | {"records"}
SITE = KNOWN | {"science", "planning.power"}
GROWTH = SITE | {"planning.site", "optimize"}
CANDIDATES = GROWTH | {"planning.growth", "planning.photoperiod"}
HISTORY = SITE | {"planning.site", "planning.growth"}
SCHEDULE = CANDIDATES | {"planning.candidates", "planning.history"}
REPLAN = SCHEDULE | {"planning.schedule"}
WATER = SCHEDULE
LUCK = REPLAN | {"planning.replan", "planning.water", "seasons"}
PLANNING = LUCK | {"planning.luck", "planning.cures", "planning.care"}
TEXT = KNOWN | {"reading.files"}
FORMATS = TEXT | {"reading.text"}
READING = FORMATS | {"reading.crops", "reading.journal", "reading.interview", "reading.space"}
TERMINAL = KNOWN | {"show", "show.data"}
SHOW = TERMINAL | {"show.terminal", "show.glance", "show.pictures", "show.page"}
SEASON = READING | PLANNING | SHOW | {"reading", "planning"}

MAY_IMPORT = {
    "base": set(),
    "records": BASE,
    "science": BASE,
    "optimize": BASE,
    "seasons": BASE | {"science"},
    "reading.files": BASE,
    "reading.text": TEXT,
    "reading.crops": FORMATS,
    "reading.journal": FORMATS,
    "reading.interview": FORMATS,
    "reading.space": FORMATS,
    "reading": READING,
    "planning.power": KNOWN | {"science"},
    "planning.care": SITE,
    "planning.site": SITE,
    "planning.growth": GROWTH,
    "planning.photoperiod": GROWTH | {"planning.growth"},
    "planning.candidates": CANDIDATES,
    "planning.cures": CANDIDATES,
    "planning.history": HISTORY,
    "planning.schedule": SCHEDULE,
    "planning.replan": REPLAN,
    "planning.water": WATER,
    "planning.luck": LUCK,
    "planning": PLANNING,
    "show": KNOWN,
    "show.data": KNOWN | {"show"},
    "show.terminal": TERMINAL,
    "show.glance": TERMINAL | {"show.terminal"},
    "show.pictures": KNOWN | {"show"},
    "show.page": TERMINAL | {"show.terminal", "show.pictures"},
    "season": SEASON,
    "front": {"season"},
    "serve": SEASON | {"season"},
    "cli": SEASON | {"season", "serve"},
}
"""Package -> the packages it may import besides itself. Each knows only lines above its own."""

PART_OF = {"reading.space.checks": "reading.space", "serve.home": "serve"}
"""A folder that counts as the package it lies in: a space is read by its checks, and they know it; the routes
lead to the pages of the home network, which look like all others."""

OWNERS = {
    "astral": {"science/daylight.py"},
    "highspy": {"optimize/highs.py"},
    "matplotlib": {"show/pictures/render.py", "show/pictures/fonts.py"},
    "icalendar": {"show/data/ics.py"},
    "jinja2": {"show/page/report.py", "serve/pages.py"},
    "starlette": {"serve/*"},
    "segno": {"serve/home/links.py"},
    "uvicorn": {"serve/server.py"},
    "pandas": {"show/data/frames.py", "season/*"},
    "typer": {"cli/*"},
    "pydantic": {"records/*", "reading/*"},
}
LONGEST_MODULE = 400
MOST_MODULES = 24
SMALL_MODULE = 60
MODULES = sorted(PACKAGE.rglob("*.py"))
IDS = [str(path.relative_to(PACKAGE)) for path in MODULES]


def module_name(path: Path) -> str:
    """Return a module's dotted name; that of its package for an ``__init__``."""
    return ".".join(("cropcal", *path.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(".__init__")


NAMES = {module_name(path): path for path in MODULES}


def package_of(path: Path) -> str:
    """Return the package of a module as the table names it."""
    parts = path.relative_to(PACKAGE).parts
    if parts == ("__init__.py",):
        return "front"
    if parts == ("__main__.py",):
        return "cli"
    package = ".".join(parts[:-1]) or "base"
    return PART_OF.get(package, package)


@cache
def tree_of(path: Path) -> ast.Module:
    """Return the syntax tree of a module, parsed once."""
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def imported(path: Path) -> frozenset[str]:
    """Return all that a module imports: dotted names of modules, or of what is taken from them."""
    names = set()
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path} imports relatively"
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return frozenset(names)


@cache
def modules_imported(path: Path) -> frozenset[str]:
    """Return the modules of cropcal that a module imports."""
    targets = (name if name in NAMES else name.rpartition(".")[0] for name in imported(path))
    return frozenset(name for name in targets if name in NAMES and name != module_name(path))


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_a_module_imports_only_what_its_package_may(path):
    """Packages point one way, so that each can be understood and tested without those above it."""
    package = package_of(path)
    for name in modules_imported(path):
        target = package_of(NAMES[name])
        assert target in MAY_IMPORT[package] | {package}, f"{package} may not import {name}"


def test_the_table_has_no_cycle():
    """What the table allows can never be a ring of packages."""
    place = {package: number for number, package in enumerate(MAY_IMPORT)}
    rings = [
        (package, target)
        for package, targets in MAY_IMPORT.items()
        for target in targets
        if target != package and place[target] > place[package]
    ]
    assert rings == [], "a package may import only what stands above it in the table"
    assert {package_of(path) for path in MODULES} == set(MAY_IMPORT)


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_a_heavy_library_has_one_owner(path):
    """A library used in one place can be replaced in one place."""
    here = path.relative_to(PACKAGE).as_posix()
    top = here.split("/")[0]
    for name in imported(path):
        library = name.split(".")[0]
        owners = OWNERS.get(library, {here})
        assert here in owners or f"{top}/*" in owners, f"{library} belongs to {owners}"


@pytest.mark.parametrize("path", MODULES, ids=IDS)
def test_a_module_stays_short(path):
    """A module that grows past what one reads in a sitting has more than one reason to exist."""
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST_MODULE


def test_a_folder_is_taken_in_at_a_glance():
    """No folder has more modules than a newcomer reads the names of."""
    folders = defaultdict(list)
    for path in MODULES:
        if path.name != "__init__.py":
            folders[path.parent.name].append(path.stem)
    crowded = {folder: len(names) for folder, names in folders.items() if len(names) > MOST_MODULES}
    assert crowded == {}


def test_a_small_module_with_one_importer_beside_it_is_part_of_it():
    """A room that opens only into the next one is a cupboard: it belongs there.

    Commands are the exception: ``main`` lists them, and each is loaded only when it is asked for.
    """
    importers = defaultdict(set)
    for path in MODULES:
        for name in modules_imported(path):
            importers[name].add(module_name(path))
    cupboards = [
        name
        for name, path in NAMES.items()
        if len(importers[name]) == 1
        and path.name != "__init__.py"
        and package_of(path) != "cli"
        and len(path.read_text(encoding="utf-8").splitlines()) < SMALL_MODULE
        and next(iter(importers[name])).rpartition(".")[0] == name.rpartition(".")[0]
    ]
    assert cupboards == []


def test_every_package_introduces_itself():
    """The first lines of a package say what it is for, and mostly what to read first."""
    for path in MODULES:
        if path.name == "__init__.py":
            words = ast.get_docstring(tree_of(path)) or ""
            assert len(words.split()) >= 8, path


def test_no_class_name_stands_twice():
    """A name means one thing in the whole house."""
    homes = defaultdict(list)
    for path in MODULES:
        for node in ast.walk(tree_of(path)):
            if isinstance(node, ast.ClassDef):
                homes[node.name].append(module_name(path))
    assert {name: places for name, places in homes.items() if len(places) > 1} == {}


def test_there_are_no_import_cycles():
    """No module needs itself, however far round."""
    done: set[str] = set()

    def visit(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, " -> ".join((*trail, name))
        if name not in done:
            for target in sorted(modules_imported(NAMES[name]) - {"cropcal"}):
                visit(target, (*trail, name))
            done.add(name)

    for name in sorted(NAMES):
        visit(name, ())


@pytest.mark.deep
def test_every_module_imports_without_warnings():
    """All import in one fresh process; without cycles none can lean on another having been loaded."""
    code = f"import importlib\nfor name in {sorted(NAMES)!r}:\n    importlib.import_module(name)\n"
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


def test_help_loads_no_heavy_library():
    """``cropcal --help`` answers at once because nothing heavy is loaded for it."""
    code = (
        "import sys\n"
        "import cropcal.cli.main\n"
        "heavy = {'numpy', 'pandas', 'matplotlib', 'highspy', 'pydantic', 'icalendar', 'astral', 'jinja2',"
        " 'starlette', 'uvicorn'}\n"
        "loaded = heavy & set(sys.modules)\n"
        "assert not loaded, loaded\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr

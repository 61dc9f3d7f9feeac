"""The folders are layers: each may import only what it is allowed to, and every module imports alone."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "cropcal"
BASE = {"problems", "units", "shipped", "spreadsheets", "letters"}
MAY_IMPORT = {
    "base": set(),
    "records": BASE,
    "science": BASE,
    "reading": BASE | {"records"},
    "planning": BASE | {"records", "science"},
    "show": BASE | {"records"},
    "season": BASE | {"records", "reading", "planning", "show"},
    "front": {"season"},
    "cli": BASE | {"records", "reading", "planning", "show", "season"},
}
OWNERS = {
    "astral": {"science/daylight.py"},
    "highspy": {"optimize/highs.py"},
    "matplotlib": {"show/pictures/render.py"},
    "icalendar": {"show/data/ics.py"},
    "jinja2": {"show/page/report.py"},
    "pandas": {"show/data/frames.py", "season/*"},
    "typer": {"cli/*"},
    "pydantic": {"records/*", "reading/*"},
}
LONGEST_MODULE = 400
MODULES = sorted(PACKAGE.rglob("*.py"))


def layer_of(path: Path) -> str:
    parts = path.relative_to(PACKAGE).parts
    if parts == ("__init__.py",):
        return "front"
    if parts == ("__main__.py",):
        return "cli"
    return parts[0] if len(parts) > 1 else "base"


def imported(path: Path) -> set[str]:
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path} imports relatively"
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
    return names


@pytest.mark.parametrize("path", MODULES, ids=[str(path.relative_to(PACKAGE)) for path in MODULES])
def test_a_module_imports_only_what_its_layer_may(path):
    """Layers point one way, so that each can be understood and tested without the ones above it."""
    layer = layer_of(path)
    for name in imported(path):
        if name == "cropcal" or name.startswith("cropcal."):
            target = name.split(".")[1] if "." in name else "base"
            assert target in MAY_IMPORT[layer] | {layer}, f"{layer} may not import {name}"


@pytest.mark.parametrize("path", MODULES, ids=[str(path.relative_to(PACKAGE)) for path in MODULES])
def test_a_heavy_library_has_one_owner(path):
    """A library used in one place can be replaced in one place."""
    here = path.relative_to(PACKAGE).as_posix()
    for name in imported(path):
        library = name.split(".")[0]
        owners = OWNERS.get(library, {here})
        assert here in owners or f"{layer_of(path)}/*" in owners, f"{library} belongs to {owners}"


@pytest.mark.parametrize("path", MODULES, ids=[str(path.relative_to(PACKAGE)) for path in MODULES])
def test_a_module_stays_short(path):
    """A module that grows past what one reads in a sitting has more than one reason to exist."""
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST_MODULE


def test_there_are_no_import_cycles():
    """No module needs itself, however far round."""
    graph = {}
    for path in MODULES:
        name = ".".join(("cropcal", *path.relative_to(PACKAGE).with_suffix("").parts))
        graph[name.removesuffix(".__init__")] = imported(path)
    modules = set(graph)
    edges = {
        name: {
            target if target in modules else target.rpartition(".")[0]
            for target in targets
            if target in modules or target.rpartition(".")[0] in modules
        }
        - {"cropcal", name}
        for name, targets in graph.items()
    }
    done: set[str] = set()

    def visit(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, " -> ".join((*trail, name))
        if name not in done:
            for target in sorted(edges.get(name, ())):
                visit(target, (*trail, name))
            done.add(name)

    for name in sorted(edges):
        visit(name, ())


def test_every_module_imports_alone_without_warnings():
    """Nothing depends on another module having been imported first."""
    names = [
        ".".join(("cropcal", *path.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(".__init__")
        for path in MODULES
    ]
    code = (
        "import importlib, sys\n"
        f"for name in {names!r}:\n"
        "    for loaded in [key for key in sys.modules if key.split('.')[0] == 'cropcal']:\n"
        "        del sys.modules[loaded]\n"
        "    importlib.import_module(name)\n"
    )
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


def test_help_loads_no_heavy_library():
    """``cropcal --help`` answers at once because nothing heavy is loaded for it."""
    code = (
        "import sys\n"
        "import cropcal.cli.main\n"
        "heavy = {'numpy', 'pandas', 'matplotlib', 'highspy', 'pydantic', 'icalendar', 'astral', 'jinja2'}\n"
        "loaded = heavy & set(sys.modules)\n"
        "assert not loaded, loaded\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr

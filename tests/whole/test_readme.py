"""What README and the documents it points to show is what happens."""

import re
import shutil
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest
from in_process import cropcal

from cropcal.reading.space.schema import space_schema

PROJECT = Path(__file__).resolve().parents[2]
README = (PROJECT / "README.md").read_text(encoding="utf-8")
GUIDE = (PROJECT / "examples" / "README.md").read_text(encoding="utf-8")
STUDIES = (PROJECT / "tests" / "studies" / "README.md").read_text(encoding="utf-8")
DOCUMENTS = (
    "README.md",
    "DEVELOPERS.md",
    "crops/README.md",
    "cropcal/science/README.md",
    "examples/README.md",
    "tests/studies/README.md",
)
QUICK = ("light", "photoperiod", "bill", "when")
"""Commands that print the same with and without a plan, in a second."""


@pytest.fixture(scope="module")
def blocks():
    """Return the module that runs the blocks of the documents."""
    return import_module("readme_blocks")


@pytest.fixture
def folder(tmp_path):
    """Return a folder with a copy of the examples."""
    shutil.copytree(PROJECT / "examples", tmp_path / "examples")
    return tmp_path


def check(blocks, folder, shown):
    """Run blocks in turn and compare what each prints."""
    for block in shown:
        got = blocks.run(block, folder)
        assert blocks.steady(got) == blocks.steady(block["output"]), block["command"]


@pytest.mark.searched
def test_quick_commands_print_what_the_documents_show(blocks, folder):
    """A newcomer who types them sees the same."""
    shown = [block for block in blocks.BLOCK.finditer(README + GUIDE) if block["command"].split()[1] in QUICK]
    assert len(shown) >= 5
    check(blocks, folder, shown)


@pytest.mark.deep
@pytest.mark.searched
def test_every_block_prints_what_readme_shows(blocks, folder):
    """The whole tour, one command after another: a plan, a note, planned again."""
    shown = list(blocks.BLOCK.finditer(README))
    assert len(shown) >= 8
    check(blocks, folder, shown)


def test_a_cut_block_shows_the_first_lines(blocks, folder):
    """Of a block that ends in dots as many lines are run anew as it shows, and not one more."""
    document = folder / "tour.md"
    document.write_text("```console\n$ cropcal explain DLI\nold\n...\n```\n", encoding="utf-8")
    assert blocks.rewrite(document, folder) == (
        "```console\n$ cropcal explain DLI\n"
        "DLI: Daily light integral: the light that falls on a square metre in a whole\n...\n```\n"
    )


def test_readme_is_short():
    """It is read before anything is tried."""
    assert len(README.splitlines()) <= 250


def test_readme_knows_every_command():
    """Each command of the program is named in README, and README names no other."""
    listed = cropcal("--help").stdout
    commands = {
        line.split()[0]
        for line in listed.partition("Commands:")[2].splitlines()
        if line.startswith("  ") and not line.startswith("   ") and "cropcal" not in line
    }
    assert len(commands) >= 11
    assert set(re.findall(r"[`$&/] ?cropcal ([a-z]+)", README)) == commands


def test_the_guide_knows_every_key():
    """Each key of space.toml is explained in examples/README.md, under its table, and no other."""
    schema = space_schema()

    def keys(part):
        part = schema["$defs"][part["$ref"].rsplit("/", 1)[-1]] if "$ref" in part else part
        return part.get("properties") or (keys(part["items"]) if "items" in part else {})

    sections = re.split(r"^### ", GUIDE.partition("## The keys")[2].partition("\n## ")[0], flags=re.MULTILINE)
    explained = {
        re.match(r"`\[+(\w+)", section)[1]: set(
            re.findall(r"`(\w+)`", " ".join(re.findall(r"^\| (`[^|]*) \|", section, re.MULTILINE)))
        )
        for section in sections[1:]
    }
    known = {name: set(keys(part)) for name, part in schema["properties"].items()}
    known["tariff"] |= set(keys(keys(schema["properties"]["tariff"])["rate"]))
    known["plan"] |= set(keys(keys(schema["properties"]["plan"])["prices"]))
    assert explained == known


@pytest.mark.parametrize("document", DOCUMENTS)
def test_links_lead_somewhere(document):
    """A link or a picture in a document is a file of the project."""
    path = PROJECT / document
    links = re.findall(r"\]\(([^)#]+)\)", path.read_text(encoding="utf-8"))
    assert [link for link in links if not (path.parent / link).is_file()] == []


def test_the_left_out_table_is_what_the_script_prints():
    """The honest table is made by the script, not by hand."""
    script = PROJECT / "tests" / "reference" / "left_out_error.py"
    printed = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, check=True).stdout
    table = STUDIES.partition("<!-- left-out -->")[2].partition("<!-- end -->")[0]
    assert table.strip() == printed.strip()

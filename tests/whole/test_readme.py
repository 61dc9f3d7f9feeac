"""What README shows is what happens."""

import shutil
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest
from in_process import cropcal

PROJECT = Path(__file__).resolve().parents[2]
README = (PROJECT / "README.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def blocks(request):
    """Return the module that runs README's blocks."""
    return import_module("readme_blocks")


@pytest.mark.searched
def test_every_block_prints_what_readme_shows(blocks, tmp_path):
    """A newcomer who types the README's commands sees the README's output, seconds aside."""
    shutil.copytree(PROJECT / "examples", tmp_path / "examples")
    shown = list(blocks.BLOCK.finditer(README))
    assert len(shown) >= 5
    for match in shown:
        got = blocks.run(match["command"], tmp_path)
        assert blocks.steady(got) == blocks.steady(match["output"]), match["command"]


def test_readme_knows_every_command():
    """Each command of the program is named in README, and README names no other."""
    listed = cropcal("--help").stdout
    commands = [
        line.split()[0]
        for line in listed.partition("Commands:")[2].splitlines()
        if line.startswith("  ") and "cropcal" not in line
    ]
    assert len(commands) >= 11
    for command in commands:
        assert f"cropcal {command}" in README, command


def test_the_left_out_table_is_what_the_script_prints():
    """The honest table is made by the script, not by hand."""
    script = PROJECT / "tests" / "reference" / "left_out_error.py"
    printed = subprocess.run([sys.executable, str(script)], capture_output=True, text=True, check=True).stdout
    table = README.partition("<!-- left-out -->")[2].partition("<!-- end -->")[0]
    assert table.strip() == printed.strip()

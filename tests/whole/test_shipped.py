"""What is built is what was written: the wheel made from the sdist holds the crop tables."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build sdist, then wheel from that sdist, with the build tools already installed."""
    out = tmp_path_factory.mktemp("dist")
    command = [sys.executable, "-m", "build", "--no-isolation", "--outdir", str(out), str(PROJECT)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return next(out.glob("*.whl"))


@pytest.mark.deep
def test_the_wheel_holds_every_crop_table(wheel):
    """A wheel without its tables would install and then know no crop."""
    names = set(zipfile.ZipFile(wheel).namelist())
    tables = {path.name for path in (PROJECT / "crops").glob("*.csv")}
    assert tables
    assert {f"cropcal/_crops/{name}" for name in tables} <= names
    assert not any(name.startswith(("tests/", "crops/", "examples/")) for name in names)


def test_the_wheel_finds_its_tables_from_another_folder(wheel, tmp_path):
    """The tables are read from inside the zipped wheel itself, with nothing of the checkout in reach."""
    code = (
        "import cropcal\n"
        "from cropcal.reading.crops.read import read_crop_tables\n"
        "tables, problems = read_crop_tables(None)\n"
        "assert '.whl' in cropcal.__file__, cropcal.__file__\n"
        "print(len(tables.crops), len(problems))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True, text=True, check=False, cwd=tmp_path, env={"PYTHONPATH": str(wheel)},
    )  # fmt: skip
    assert done.stdout.split() == ["30", "0"], done.stdout + done.stderr

"""How fast commands start and plan, as ratios of one run on this machine.

``python tests/benchmarks/bench_commands.py`` prints a table. It asserts nothing: speed is looked at only.
"""

import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter

PROJECT = Path(__file__).resolve().parents[2]
CROPCAL = str(Path(sys.executable).with_name("cropcal"))
ROUNDS = 7


def seconds(command: list[str]) -> float:
    """Return the median wall time of a command, run warm."""
    times = []
    for _ in range(ROUNDS + 1):
        began = perf_counter()
        subprocess.run(command, capture_output=True, check=False)
        times.append(perf_counter() - began)
    return median(times[1:])


def main() -> None:
    """Print each command's time, and its ratio to the imports it cannot do without."""
    typer = seconds([sys.executable, "-c", "import typer"])
    heavy = seconds([sys.executable, "-c", "import pandas, matplotlib.pyplot, highspy"])
    print(f"| command | s | ratio to |  |\n| --- | ---: | --- | ---: |\n| import typer | {typer:.2f} | | |")
    print(f"| import pandas, matplotlib.pyplot, highspy | {heavy:.2f} | | |")
    with tempfile.TemporaryDirectory() as out:
        example = str(PROJECT / "examples" / "millbrook")
        for words, base, name in (
            (["--help"], typer, "import typer"),
            (["check", example], typer, "import typer"),
            (["light", example], typer, "import typer"),
            (["plan", example, "--out", out], heavy, "the three imports"),
        ):
            took = seconds([CROPCAL, *words])
            shown = " ".join(word.replace(str(PROJECT) + "/", "") for word in words if word != out)
            print(f"| cropcal {shown.replace(' --out', '')} | {took:.2f} | {name} | {took / base:.2f} |")


if __name__ == "__main__":
    main()

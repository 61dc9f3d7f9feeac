"""How fast commands start, as ratios to the imports that they cannot do without.

``python tests/benchmarks/bench_commands.py`` prints a table: CPU seconds (user and system) of each command,
medians of five, every run paired with one of the base so that both meet the same load. It exits with 1 if a
command takes more than its goal, and with 2 where it cannot measure.
"""

import os
import subprocess
import sys
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage
from statistics import median

PROJECT = Path(__file__).resolve().parents[2]
CROPCAL = str(Path(sys.executable).with_name("cropcal"))
EXAMPLE = "examples/millbrook"
ROUNDS = 5
BASE = "import numpy, pydantic, typer"
GOALS = (("check", 2.0), ("log", 2.0), ("light", 2.0), ("photoperiod", 3.0))
"""A command, and how many times the base it may take."""


def cpu_seconds(command: list[str]) -> float:
    """Return the user and system time that a command took, which must succeed."""
    before = getrusage(RUSAGE_CHILDREN)
    subprocess.run(command, capture_output=True, check=True, cwd=PROJECT)
    after = getrusage(RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> int:
    """Print each command's time and its ratio to the base; return the exit code."""
    if sys.dont_write_bytecode or os.environ.get("PYTHONDONTWRITEBYTECODE"):
        print("Bytecode is not cached: unset PYTHONDONTWRITEBYTECODE, run without -B.", file=sys.stderr)
        return 2
    base = [sys.executable, "-c", BASE]
    print(f"| command | {BASE}, CPU s | command, CPU s | ratio | goal |\n| --- | ---: | ---: | ---: | ---: |")
    missed = False
    for name, goal in GOALS:
        command = [CROPCAL, name, EXAMPLE]
        cpu_seconds(base), cpu_seconds(command)  # the first run fills the caches
        pairs = [(cpu_seconds(base), cpu_seconds(command)) for _ in range(ROUNDS)]
        ratio = median(own / plain for plain, own in pairs)
        missed = missed or ratio > goal
        plain_s, own_s = (median(column) for column in zip(*pairs, strict=True))
        print(
            f"| cropcal {name} {EXAMPLE} | {plain_s:.3f} | {own_s:.3f} | {ratio:.2f} | {goal:.1f} |",
            flush=True,
        )
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())

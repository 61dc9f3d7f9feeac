"""The one gate to the terminal: whatever is printed, by us or by the command line's library, goes through."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from typing import Any, TextIO

from typer.core import TyperGroup

from cropcal.letters import clean_lines


class Gate:
    """A stream that lets no control character through but line ends, and none that the stream cannot write.

    A name in a file, a path or a word of the command line may hold any character at all.
    """

    def __init__(self, stream: TextIO) -> None:
        self.stream = stream
        self.encoding, self.errors = stream.encoding or "utf-8", stream.errors

    def write(self, text: str) -> int:
        """Write a text without what could steer the terminal."""
        said = clean_lines(text)
        try:
            self.stream.write(said)
        except UnicodeEncodeError:
            self.stream.write(said.encode(self.encoding, "replace").decode(self.encoding))
        return len(text)

    def flush(self) -> None:
        """Pass on what was written."""
        self.stream.flush()

    def isatty(self) -> bool:
        """Return whether a person reads along."""
        return self.stream.isatty()

    def fileno(self) -> int:
        """Return the number the system knows the stream by."""
        return self.stream.fileno()


@contextmanager
def gated() -> Iterator[None]:
    """Let all that is printed go through the gate."""
    out: Any = Gate(sys.stdout)
    err: Any = Gate(sys.stderr)
    with redirect_stdout(out), redirect_stderr(err):
        yield


class GatedGroup(TyperGroup):
    """All commands, printing through the gate: their answers, and what is said of mistyped words."""

    def main(self, *args: Any, **more: Any) -> Any:
        """Run a command line."""
        with gated():
            return super().main(*args, **more)


def over_the_line(said: str) -> None:
    """Write over what stands on the terminal's line; nothing clears it."""
    stream = sys.stderr.stream if isinstance(sys.stderr, Gate) else sys.stderr
    stream.write(f"\r{said:79}" if said else f"\r{'':79}\r")
    stream.flush()

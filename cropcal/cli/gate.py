"""The only way to the terminal: all text, ours and that of the command-line library, passes through it."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from typing import Any, TextIO

from typer.core import TyperGroup

from cropcal.letters import clean_lines

PLAIN = str.maketrans({"µ": "u", "μ": "u", "°": "", "²": "2", "³": "3", "…": "...", "×": "x", "±": "+-"})
"""What is written for signs of our own where the terminal cannot encode them."""


class Gate:
    """A stream that passes on no control characters but line ends, and no characters it cannot encode.

    A name in a file, a path or a word of the command line may hold any character at all.
    """

    def __init__(self, stream: TextIO) -> None:
        self.stream = stream
        self.encoding, self.errors = stream.encoding or "utf-8", stream.errors

    def write(self, text: str) -> int:
        """Write a text without characters that could control the terminal."""
        safe = clean_lines(text)
        try:
            self.stream.write(safe)
        except UnicodeEncodeError:
            plain = safe.translate(PLAIN)
            self.stream.write(plain.encode(self.encoding, "replace").decode(self.encoding))
        return len(text)

    def flush(self) -> None:
        """Flush the stream behind the gate."""
        self.stream.flush()

    def isatty(self) -> bool:
        """Return whether the stream is a terminal."""
        return self.stream.isatty()

    def fileno(self) -> int:
        """Return the file descriptor of the stream."""
        return self.stream.fileno()


@contextmanager
def gated() -> Iterator[None]:
    """Let all that is printed go through the gate."""
    out: Any = Gate(sys.stdout)
    err: Any = Gate(sys.stderr)
    with redirect_stdout(out), redirect_stderr(err):
        yield


class GatedGroup(TyperGroup):
    """All commands, printing through the gate: answers and usage errors alike."""

    def main(self, *args: Any, **more: Any) -> Any:
        """Run a command line."""
        with gated():
            return super().main(*args, **more)


def overwrite_line(text: str) -> None:
    """Overwrite the current line of the terminal; an empty text clears it."""
    stream = sys.stderr.stream if isinstance(sys.stderr, Gate) else sys.stderr
    stream.write(f"\r{text:79}" if text else f"\r{'':79}\r")
    stream.flush()

"""The exception for wrong input, in a module that loads fast for the command line."""

from collections.abc import Callable, Sequence
from contextvars import ContextVar
from dataclasses import replace
from functools import wraps
from typing import Any, NamedTuple, ParamSpec, TypeVar

from cropcal.problems import Problem, Where

P = ParamSpec("P")
T = TypeVar("T")


class SpaceError(ValueError):
    """A space, a file beside it, or an argument is wrong.

    Attributes
    ----------
    problems
        Every mistake: its ``file``, ``line``, ``key``, what was ``found``, what was ``expected``, a ``hint``.
    """

    def __init__(self, problems: Sequence[Problem]) -> None:
        super().__init__("\n".join(map(str, problems)))
        self.problems = tuple(problems)

    def __reduce__(self) -> tuple[type["SpaceError"], tuple[Any, ...]]:
        """Let it travel between processes: it is made of its problems, not of their text."""
        return type(self), (self.problems,)


class Meaning(NamedTuple):
    """One thing that a word may mean: what to type for it, and what it is."""

    word: str
    what: str


class OpenError(SpaceError):
    """A word may mean several things; ``choices`` are these, and any of their words can be given instead."""

    def __init__(self, problems: Sequence[Problem], choices: Sequence[Meaning] = ()) -> None:
        super().__init__(problems)
        self.choices = tuple(choices)

    def __reduce__(self) -> tuple[type["OpenError"], tuple[Any, ...]]:
        """Let it travel between processes with its choices."""
        return type(self), (self.problems, self.choices)


asker: ContextVar[Callable[[str, Sequence[Meaning]], str | None] | None] = ContextVar("asker", default=None)
"""Whoever can say which of several things is meant: from text and choices to a word of them, or None."""


def choose(where: str, text: str, choices: Sequence[Meaning], expected: str, shown: str = "") -> str:
    """Return the word of the choice that is meant: as somebody answers, else raise OpenError.

    Parameters
    ----------
    where
        The argument or option.
    text
        What was typed.
    choices
        What it may mean.
    expected
        What should have been given, in words.
    shown
        The choices in words, if not one by one.
    """
    ask = asker.get()
    answer = ask(text, choices) if ask else None
    if answer is not None:
        return answer
    names = [f"{choice.word} ({choice.what})" if choice.what else choice.word for choice in choices]
    may_be = shown or " or ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
    raise OpenError([Problem(Where(where), "", f'"{text}", which may be {may_be}', expected)], choices)


def in_python(answer: Callable[P, T]) -> Callable[P, T]:
    """Make problems name an argument as it is written in Python, not as an option of a command."""

    @wraps(answer)
    def answered(*args: P.args, **kwargs: P.kwargs) -> T:
        try:
            return answer(*args, **kwargs)
        except OpenError as error:
            raise OpenError([without_dashes(problem) for problem in error.problems], error.choices) from None
        except SpaceError as error:
            raise SpaceError([without_dashes(problem) for problem in error.problems]) from None

    return answered


ARGUMENTS = {
    "--from": "from_",
    "CROP": "crop",
    "CROP_OR_BATCH": "thing",
    "WHAT": "thing",
    "BED": "bed",
    "ZONE": "zone",
    "AMOUNT": "amount",
    "EVENT": "event",
}
"""Python names of the commands' arguments; other options lose their dashes."""


def without_dashes(problem: Problem) -> Problem:
    """Return a problem that names an argument of Python, not an option of a command."""
    path = problem.where.path
    name = ARGUMENTS.get(path) or path.removeprefix("--set ").removeprefix("--")
    hint = problem.hint.replace("--set ", "").replace("--steady", "steady")
    return replace(problem, where=Where(name, problem.where.line), hint=hint)

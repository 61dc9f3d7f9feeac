"""The exception for wrong input, in a module that loads fast for the command line."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import wraps
from typing import ParamSpec, TypeVar

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

    def __reduce__(self) -> tuple[type["SpaceError"], tuple[tuple[Problem, ...]]]:
        """Let it travel between processes: it is made of its problems, not of their text."""
        return type(self), (self.problems,)


def in_python(answer: Callable[P, T]) -> Callable[P, T]:
    """Make problems name an argument as it is written in Python, not as an option of a command."""

    @wraps(answer)
    def answered(*args: P.args, **kwargs: P.kwargs) -> T:
        try:
            return answer(*args, **kwargs)
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

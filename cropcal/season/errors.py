"""The exception for wrong input, in a module that loads fast for the command line."""

from collections.abc import Sequence

from cropcal.problems import Problem


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

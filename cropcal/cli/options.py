"""Arguments and options that many commands share."""

from pathlib import Path
from typing import Annotated, Any

import typer

SpaceArgument = Annotated[
    Path,
    typer.Argument(metavar="[SPACE]", help="Folder of the space, or its space.toml.", show_default=False),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON instead of a table.")]
SteadyOption = Annotated[
    bool | None,
    typer.Option(
        "--steady/--free",
        help="Sow the same every week, or whatever is best; by default as in the last plan.",
        show_default=False,
    ),
]
SowOption = Annotated[
    str | None,
    typer.Option(
        "--sow",
        metavar="sparing|usual|safe",
        help="How much is sown against bad luck, this once; by default as in space.toml.",
        show_default=False,
    ),
]
BegunOption = Annotated[
    bool | None,
    typer.Option(
        "--begun/--not-begun",
        help="Where the start is past and nothing was noted: whether anything was sown; by default it asks.",
        show_default=False,
    ),
]
AgainOption = Annotated[
    str | None, typer.Option(metavar="DATE", help="Plan again from this day; by default today.")
]
SlowOption = Annotated[
    bool,
    typer.Option("--slow", help="Compare lengths too at which a crop takes over 1.25 times its fewest days."),
]
HERE = Path()


def answer(about: str) -> Any:
    """Return an option that answers a question of ``cropcal new``."""
    return typer.Option(metavar="ANSWER", help=about, show_default=False)


def _settings(texts: list[str] | None) -> list[str] | None:
    """Refuse a --set without = at once: no later check can see that a shell split it."""
    for text in texts or ():
        if "=" not in text:
            message = (
                f'found "{text}", expected KEY=VALUE in one piece, like plan.weeks=10; no spaces around'
                " =, and where a name has spaces, quotes around all of it: 'zone.top shelf.photoperiod_h=14'"
            )
            raise typer.BadParameter(message)
    return texts


def settings_given(texts: list[str]) -> list[str]:
    """Return the ``KEY=VALUE`` of a command that needs at least one."""
    if not texts:
        message = "found no KEY=VALUE, expected at least one, like plan.weeks=10"
        raise typer.BadParameter(message)
    return _settings(texts) or texts


SetOption = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="KEY=VALUE",
        help="Try a value of space.toml, like fixture.watts=60: before and after, nothing is written.",
        callback=_settings,
        show_default=False,
    ),
]


PlanFolderOption = Annotated[
    Path | None,
    typer.Option("--out", metavar="DIR", help="Where to write; by default the folder plan beside the file."),
]
TimeLimitOption = Annotated[
    float, typer.Option("--time-limit", metavar="SECONDS", help="Stop improving after this long.", min=1)
]
AllOption = Annotated[bool, typer.Option("--all", help="Print everything, not only the summary.")]


def version(show: bool) -> None:
    """Print the version and stop."""
    if show:
        from importlib.metadata import version as installed

        typer.echo(f"cropcal {installed('cropcal')}")
        raise typer.Exit

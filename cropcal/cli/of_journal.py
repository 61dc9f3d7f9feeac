"""Commands that tell and note what really happened, and the week's list: names, arguments and help.

They belong to ``cropcal.cli.main``, and import nothing heavy before they run either.
"""

from pathlib import Path
from typing import Annotated

import typer

from cropcal.cli.options import HERE, AllOption, JsonOption, SetOption, SpaceArgument


def learned(
    space: SpaceArgument = HERE,
    out: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Write learned.png there: what was forecast and what came."),
    ] = None,
    whole: AllOption = False,
    sets: SetOption = None,
    json: JsonOption = False,
) -> None:
    """What did the journal teach? How fast crops grow here, how sure that is, and from which notes.

    Example: cropcal learned my-shelf --out my-shelf
    """
    from cropcal.cli import learned as teaching

    teaching.learned(space, out, as_json=json, sets=sets or (), whole=whole)


def trial(
    words: Annotated[list[str], typer.Argument(metavar="[SPACE] CROP [CROP]", show_default=False)],
    bed: Annotated[
        list[str] | None, typer.Option(help="A bed to compare; give two.", show_default=False)
    ] = None,
    since: Annotated[
        str | None,
        typer.Option(
            metavar="DATE", help="Compare what was sown before and since this day.", show_default=False
        ),
    ] = None,
    out: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Write trial.png there: each batch and its forecast.")
    ] = None,
    whole: AllOption = False,
    sets: SetOption = None,
    json: JsonOption = False,
) -> None:
    """Is one bed better than another, a new setting than the old, or one kind than another?

    By the batches of the journal. With two crops it compares these.

    Example: cropcal trial my-shelf lettuce-butterhead --bed "long box" --bed "short box"
    """
    from cropcal.cli.trial import trial as compare

    first = Path(words[0])
    is_space = len(words) == 3 or (len(words) == 2 and (first.suffix == ".toml" or first.is_dir()))
    crops = words[1:] if is_space else words
    if len(crops) > 2:
        message = f"found {len(words)} words, expected [SPACE] CROP [CROP]"
        raise typer.BadParameter(message)
    compare(
        first if is_space else HERE, crops, bed or (), since, out, as_json=json, sets=sets or (), whole=whole
    )


def week(
    space: SpaceArgument = HERE,
    on: Annotated[
        str | None, typer.Option(metavar="DATE", help="Any day of the week to show; by default today.")
    ] = None,
    whole: AllOption = False,
    sets: SetOption = None,
    json: JsonOption = False,
) -> None:
    """What do I do this week?

    Example: cropcal week my-shelf --on 2027-02-10
    """
    from cropcal.cli import week as weekly

    weekly.week(space, on, as_json=json, sets=sets or (), whole=whole)


def log(
    words: Annotated[
        list[str] | None,
        typer.Argument(metavar="[SPACE] [EVENT CROP_OR_BATCH [AMOUNT]]", show_default=False),
    ] = None,
    on: Annotated[
        str | None, typer.Option(metavar="DATE", help="When: yesterday, Tue, 5 Dec; by default today.")
    ] = None,
    bed: Annotated[str | None, typer.Option(help="Bed it happened in.")] = None,
    zone: Annotated[str | None, typer.Option(help="Zone of an outage.")] = None,
    site: Annotated[str | None, typer.Option(help='Sites, like "3" or "1 to 4".')] = None,
    cut: Annotated[int | None, typer.Option(help="Which cut a harvest was.", min=1, max=99)] = None,
    whole: Annotated[bool, typer.Option("--whole", help="The plants were taken out.")] = False,
    early: Annotated[bool, typer.Option("--early", help="Cut before it was ready, on purpose.")] = False,
    from_: Annotated[str | None, typer.Option("--from", metavar="TIME", help="Start, like 18:30.")] = None,
    until: Annotated[str | None, typer.Option(metavar="TIME", help="End, like 21:00.")] = None,
    kwh: Annotated[str | None, typer.Option(help="The energy that a bill counts.")] = None,
    sure: Annotated[bool, typer.Option("--sure", help="It is right, however odd it looks.")] = False,
    why: Annotated[str | None, typer.Option(help="Why it was lost.")] = None,
    note: Annotated[str | None, typer.Option(help="Anything else.")] = None,
    the_week: Annotated[bool, typer.Option("--week", help="With done: its week, up to today.")] = False,
    undo: Annotated[bool, typer.Option("--undo", help="Take back ids, or the last event.")] = False,
    correct: Annotated[
        str | None, typer.Option(metavar="ID", help="Replace an earlier line.", show_default=False)
    ] = None,
) -> None:
    """Note what happened; without an event, show what was noted last.

    EVENT: sown, emerged, transplanted, harvested, lost, bolted, tip burn, not ready, reading, air, outage,
    lamp hours, bill. AMOUNT: 3, "240 g", "3 heads 420 g"; of a bill its month and sum: bill 2027-02 41.30.
    Today's jobs, all as planned: cropcal log my-shelf done

    Example: cropcal log my-shelf harvested lettuce-butterhead 3 --on yesterday
    """
    from cropcal.cli.note import note as note_down
    from cropcal.season.log_words import Options

    note_down(
        words or (),
        Options(
            on,
            bed,
            zone,
            site,
            cut,
            whole,
            early,
            from_,
            until,
            why,
            note,
            undo,
            correct,
            sure,
            kwh,
            the_week,
        ),
    )

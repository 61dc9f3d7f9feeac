"""The ``cropcal`` command: names, arguments and help. What a command does stands in ``cropcal.cli.commands``.

Nothing heavy is imported before a command runs, so that ``--help`` answers at once.
"""

from pathlib import Path
from typing import Annotated

import typer

from cropcal.cli import of_journal
from cropcal.cli.explain import explain
from cropcal.cli.options import (
    HERE,
    AgainOption,
    AllOption,
    BegunOption,
    JsonOption,
    PlanFolderOption,
    SetOption,
    SlowOption,
    SowOption,
    SpaceArgument,
    SteadyOption,
    TimeLimitOption,
    version,
)
from cropcal.cli.options import answer as _answer
from cropcal.cli.refusing import Refusing

app = typer.Typer(
    cls=Refusing,
    help="Plan a small lamp-lit growing space: light, cost, and a succession sowing calendar.",
    epilog="Start with: cropcal new my-shelf",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Folder to make.", show_default=False)],
    yes: Annotated[bool, typer.Option("--yes", "-y", help="Ask nothing; take the defaults.")] = False,
    name: Annotated[
        str | None, typer.Option(help="Name of the space; by default that of the folder.")
    ] = None,
    floor: Annotated[str | None, _answer('Lit floor and walls: "1.1 x 0.5 m, white walls".')] = None,
    boxes: Annotated[str | None, _answer('Boxes and pots: "2 boxes of 8 pots, 0.5 x 0.3 m".')] = None,
    lamp: Annotated[str | None, _answer('Kind, watts, how known: "white LED, 96 W, plug meter".')] = None,
    gap: Annotated[str | None, _answer('From the lamp down to young leaves: "35 cm".')] = None,
    hours: Annotated[str | None, _answer('Hours now and quiet ones: "06:00-22:00, quiet 22-6".')] = None,
    air: Annotated[str | None, _answer('°C among the leaves, lamp on and off: "23 / 19".')] = None,
    price: Annotated[str | None, _answer('Price of a kWh: "0.29 GBP".')] = None,
    eat: Annotated[str | None, _answer('What, how much a week: "3 lettuces, basil 50 g"; "salad".')] = None,
    days: Annotated[str | None, _answer('Days with time to sow and cut: "Tue and Sat".')] = None,
    start: Annotated[str | None, _answer('First day: "1 March", "next Monday".')] = None,
    whole: AllOption = False,
) -> None:
    """Describe your space: ten short questions at most, and a first plan at once.

    Every answer may be "don't know". Answers can also be given as flags.

    Example: cropcal new my-shelf --lamp "90 W" --eat "2 lettuces, basil 30 g"
    """
    from cropcal.cli.new import start as interview

    interview(
        folder,
        yes=yes,
        name=name,
        whole=whole,
        given={"floor": floor, "boxes": boxes, "lamp": lamp, "gap": gap, "hours": hours, "air": air}
        | {"price": price, "eat": eat, "days": days, "start": start},
    )


@app.command()
def check(
    space: SpaceArgument = HERE, whole: AllOption = False, sets: SetOption = None, json: JsonOption = False
) -> None:
    """Is my file right? Every problem, with its line.

    Example: cropcal check my-shelf
    """
    from cropcal.cli import commands

    commands.check(space, as_json=json, sets=sets or (), whole=whole)


@app.command(name="set")
def set_(
    words: Annotated[list[str], typer.Argument(metavar="[SPACE] KEY=VALUE ...", show_default=False)],
) -> None:
    """Change space.toml for good: each value as --set tries it. Comments and order in the file stay.

    KEY= without a value takes a key out.

    Example: cropcal set my-shelf fixture.watts=60
    """
    from cropcal.cli.options import settings_given
    from cropcal.cli.set import keep

    first, *rest = words
    keep(*((HERE, settings_given(words)) if "=" in first else (Path(first), settings_given(rest))))


@app.command()
def crops(
    space: Annotated[
        Path | None,
        typer.Argument(
            metavar="[SPACE]", help="With a space: which crop suits which bed.", show_default=False
        ),
    ] = None,
    sources: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Every value of one crop and its source.", show_default=False),
    ] = None,
    whole: AllOption = False,
    sets: SetOption = None,
    json: JsonOption = False,
) -> None:
    """Show the crop table; with a space, which crops suit which bed.

    Example: cropcal crops my-shelf
    """
    from cropcal.cli import commands

    if sources is None:
        commands.crops(space, as_json=json, sets=sets or (), whole=whole)
    else:
        commands.crop_sources(sources, space, as_json=json, sets=sets or ())


@app.command()
def light(
    space: SpaceArgument = HERE,
    out: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Write each site's light here: light.csv, and light.png, a map."),
    ] = None,
    whole: AllOption = False,
    sets: SetOption = None,
    json: JsonOption = False,
) -> None:
    """Is the light enough? Each wanted crop in each bed.

    Example: cropcal light my-shelf --out my-shelf
    """
    from cropcal.cli import commands

    commands.light(space, out, as_json=json, sets=sets or (), whole=whole)


@app.command()
def photoperiod(
    space: SpaceArgument = HERE,
    out: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Write timers.csv and a picture there.", show_default=False),
    ] = None,
    slow: SlowOption = False,
    whole: AllOption = False,
    sets: SetOption = None,
    json: JsonOption = False,
) -> None:
    """Which hours should the timer have? What each lamp hour brings and costs.

    Example: cropcal photoperiod my-shelf --out my-shelf/hours
    """
    from cropcal.cli import commands

    commands.photoperiod(space, out, slow=slow, as_json=json, sets=sets or (), whole=whole)


@app.command()
def daylight(
    space: SpaceArgument = HERE,
    out: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Write the year there: daylight.csv, and daylight.png, a picture."),
    ] = None,
    whole: AllOption = False,
    sets: SetOption = None,
    json: JsonOption = False,
) -> None:
    """What does the sun give? By month, outdoors and at the leaves, and the lamp hours still needed.

    Example: cropcal daylight my-sill --out my-sill
    """
    from cropcal.cli.daylight import daylight as by_month

    by_month(space, out, as_json=json, sets=sets or (), whole=whole)


@app.command()
def bill(
    space: SpaceArgument = HERE,
    year: Annotated[
        bool, typer.Option("--year", help="Twelve months from the plan's start, not only its weeks.")
    ] = False,
    whole: AllOption = False,
    sets: SetOption = None,
    json: JsonOption = False,
) -> None:
    """What does the power cost? By month, by use, by price, and for one more head.

    Example: cropcal bill my-shelf
    """
    from cropcal.cli import commands

    commands.bill(space, year=year, as_json=json, sets=sets or (), whole=whole)


@app.command()
def when(
    words: Annotated[list[str], typer.Argument(metavar="[SPACE] CROP", show_default=False)],
    sown: Annotated[
        str, typer.Option(metavar="DATE", help="Day of sowing, like 2027-01-06.", show_default=False)
    ],
    bed: Annotated[str | None, typer.Option(help="Bed it grows in.")] = None,
    whole: AllOption = False,
    sets: SetOption = None,
    json: JsonOption = False,
) -> None:
    """When is it ready, and how much? The likeliest, and a range for four cases out of five.

    Example: cropcal when my-shelf basil --sown 2027-01-06
    """
    from cropcal.cli import commands

    if len(words) > 2:
        message = f"found {len(words)} words, expected [SPACE] CROP"
        raise typer.BadParameter(message)
    commands.when(
        Path(words[0]) if len(words) == 2 else HERE,
        words[-1],
        sown,
        bed,
        as_json=json,
        sets=sets or (),
        whole=whole,
    )


app.command()(of_journal.learned)


app.command()(of_journal.trial)


@app.command()
def plan(
    space: SpaceArgument = HERE,
    out: PlanFolderOption = None,
    time_limit: TimeLimitOption = 120.0,
    on: AgainOption = None,
    sow: SowOption = None,
    steady: SteadyOption = None,
    begun: BegunOption = None,
    whole: AllOption = False,
    sets: SetOption = None,
    json: JsonOption = False,
) -> None:
    """What do I sow where and when, and what is ready when?

    Planned again within its weeks, it continues with the plants that the journal says are there.
    Ctrl-C ends the search early and keeps the best plan so far.

    Example: cropcal plan my-shelf
    """
    from cropcal.cli import plan as planning

    planning.plan(
        space, out, on, time_limit, as_json=json, sets=sets, sow=sow, steady=steady, begun=begun, whole=whole
    )


@app.command()
def why(
    space: SpaceArgument = HERE,
    time_limit: TimeLimitOption = 60.0,
    anew: Annotated[
        bool, typer.Option("--anew", help="Plan anew for each thing that could help; slow.")
    ] = False,
    whole: AllOption = False,
    sets: SetOption = None,
    json: JsonOption = False,
) -> None:
    """Why is the plan no better? What would help, what is full, and simpler ways to run it.

    It looks at the whole season, as if nothing were sown yet: by the plan that was written, or by one that
    it makes. What would help is judged with the same sowings and the same luck; with --anew each change gets
    sowings of its own.

    Example: cropcal why my-shelf
    """
    from cropcal.cli.why import why as reasons

    reasons(space, time_limit_s=time_limit, as_json=json, sets=sets or (), whole=whole, anew=anew)


app.command()(of_journal.week)


@app.command()
def care(
    space: SpaceArgument = HERE, whole: AllOption = False, sets: SetOption = None, json: JsonOption = False
) -> None:
    """What must I take care of? Power and water, lamps, food, and what holds in this space.

    Example: cropcal care my-shelf
    """
    from cropcal.cli import care as caring

    caring.care(space, as_json=json, sets=sets or (), whole=whole)


app.command()(of_journal.log)


@app.command("open")
def open_page(
    space: SpaceArgument = HERE,
    port: Annotated[
        int,
        typer.Option(
            metavar="N",
            help="Port to serve at; by default any free one.",
            min=0,
            max=65535,
            show_default=False,
        ),
    ] = 0,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Only print the link.")] = False,
    home: Annotated[
        bool,
        typer.Option("--home", help="Serve it to phones in the home network too, by a code to type or scan."),
    ] = False,
    address: Annotated[
        str | None,
        typer.Option(
            metavar="A",
            help="With --home: this computer's address, if it has several, like 192.168.1.20.",
            show_default=False,
        ),
    ] = None,
    new_keys: Annotated[
        bool,
        typer.Option(
            "--new-keys",
            help="With --home: end all links, phones and calendar subscriptions of before.",
        ),
    ] = False,
) -> None:
    """Tick the week, weigh the harvest, look at the plan: as pages in the browser, until Ctrl-C.

    It prints a link with a key. Only this computer can reach it, and only with that key. With --home
    phones in the same network can too. The keys of their links stay the same from one start to the next:
    they are kept in plan/.home-keys.json, which is for your eyes only.

    Example: cropcal open my-shelf
    """
    from cropcal.cli.open import AtHome, serve_space
    from cropcal.season.load import refuse_one

    if not home and (address is not None or new_keys):
        option = "--new-keys" if new_keys else "--address"
        refuse_one(option, "it without --home", "it together with --home")
    at_home = AtHome(address or "", new_keys) if home else None
    serve_space(space, port, browser=not no_browser, at_home=at_home)


@app.command()
def schema() -> None:
    """Print the JSON Schema of space.toml: editors complete and check the file with it.

    Name it in the first line of space.toml, as #:schema space.schema.json

    Example: cropcal schema > my-shelf/space.schema.json
    """
    from cropcal.reading.space.schema import space_schema
    from cropcal.show.data.json_forms import dumps

    typer.echo(dumps(space_schema()), nl=False)


app.command()(explain)


@app.callback()
def options(
    _version: Annotated[
        bool, typer.Option("--version", callback=version, is_eager=True, help="Show the version and stop.")
    ] = False,
) -> None:
    """Plan a small lamp-lit growing space: light, cost, and a succession sowing calendar."""

"""``cropcal trial``: compare two groups of batches."""

import shlex
from collections.abc import Sequence
from pathlib import Path

from cropcal.cli.respond import Answer, respond
from cropcal.problems import Exit
from cropcal.records.crop import CropTables, cut_at
from cropcal.records.space import Space
from cropcal.season.beside import noted
from cropcal.season.files import keep_files, names
from cropcal.season.forecast import nearest
from cropcal.season.load import crop_named, day, refuse_one, wanted_slugs
from cropcal.show.text import as_typed

FILES = ("trial.png",)


def trial(
    path: Path,
    crops: Sequence[str],
    beds: Sequence[str],
    since: str | None,
    out: Path | None,
    *,
    as_json: bool,
    sets: Sequence[str] = (),
    whole: bool = False,
) -> None:
    """Print whether two beds, sowings before and since a day, or two kinds differ by more than noise."""
    journal = noted(path)
    on = None if since is None else day(since, "--since", "past")
    if len(beds) > 2:
        refuse_one("--bed", f"{len(beds)} beds", "two at most")
    if len(crops) > 1 and on is not None:
        refuse_one("--since", f'"{since}"', "no day beside two crops", "compare the one or the other")

    options = [f"--bed {shlex.quote(bed)}" for bed in beds]
    options += [] if since is None else [f"--since {on}"]

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.planning.history.calibration import batches_and_conditions
        from cropcal.planning.history.comparison import ComparisonRequest
        from cropcal.planning.history.comparison import compare_groups as compare
        from cropcal.planning.site.bed_light import bed_lights
        from cropcal.show.glance.fitting import ScreenPart
        from cropcal.show.glance.journal import trial_glance
        from cropcal.show.terminal import basics as screens
        from cropcal.show.terminal import trial as trial_screen

        slugs = [crop_named(name, "CROP", tables, wanted_slugs(space)) for name in crops]
        kinds = [cut_at(tables.crops[slug], space.cut_at(slug)) for slug in slugs]
        if len({*slugs}) < len(slugs):
            refuse_one("CROP", f"{kinds[0].name} twice", "two kinds")
        known = tuple(bed.name for bed in space.beds)
        for bed in beds:
            if bed not in known:
                refuse_one("--bed", f'"{bed}"', "a bed of the space", nearest(bed, known))
        lights = bed_lights(space, tables)
        histories, conditions = batches_and_conditions(
            space, tables, lights, journal.events(), journal.batches()
        )
        comparison = compare(
            kinds[0],
            tables,
            lights,
            histories,
            conditions,
            ComparisonRequest(tuple(beds), on, kinds[1] if len(kinds) > 1 else None),
        )
        if isinstance(comparison, str):
            return Answer({}, str, notes=(comparison,), code=Exit.SHORT)
        written = screens.written(str(out), FILES).strip("\n") if out else ""

        def draw() -> dict[str, str | bytes]:
            from cropcal.show.pictures import render as picture

            return {FILES[0]: picture.trial_png(comparison, names(tables), space.place.name)}

        return Answer(
            trial_screen.form(comparison),
            lambda: trial_screen.trial(comparison, names(tables)) + (f"\n{written}" if out else ""),
            notes=(written,) if out and as_json else (),
            keep=(lambda _: keep_files(out, draw())) if out else None,
            following=as_typed("learned", path),
            glance=lambda: [*trial_glance(comparison, names(tables)), ScreenPart((), written)],
            everything=as_typed("trial", path, *slugs, *options),
        )

    respond(path, sets, answer, as_json=as_json, journal=journal, whole=whole)

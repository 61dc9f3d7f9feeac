"""``cropcal why``: what limits a plan, what would help, and the steady rule beside it."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from cropcal.cli.respond import Answer, respond
from cropcal.cli.search import effort
from cropcal.cli.working import say
from cropcal.problems import Exit
from cropcal.records.crop import CropTables
from cropcal.records.space import Space
from cropcal.season.beside import Noted, noted
from cropcal.season.files import names
from cropcal.season.load import fingerprint
from cropcal.show.text import as_typed

if TYPE_CHECKING:  # it loads numpy, which not every command needs
    from cropcal.planning.growth.pace import Paces
    from cropcal.planning.planner import SolveOptions
    from cropcal.planning.same_sowings import Grown


def why(
    path: Path,
    *,
    time_limit_s: float,
    as_json: bool,
    sets: Sequence[str] = (),
    anew: bool = False,
    whole: bool = False,
) -> None:
    """Print why the plan of a season is no better, and what would help."""
    journal = noted(path)

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.planning.what_if import what_if
        from cropcal.season.learned import learned_paces
        from cropcal.show.glance.why import why_glance
        from cropcal.show.terminal import why as outlook_screen

        paces = learned_paces(journal, space, tables)
        written = None if sets else _written(path, journal)
        with _trying(time_limit_s, anew=anew) as trying:
            result = what_if(space, tables, trying, paces, written, anew=anew, tell=_tell if anew else None)
        if result.nothing_grows:
            reasons = _with_cures(result.nothing_grows, space, tables, paces)
            result = result.model_copy(update={"nothing_grows": reasons})
        this = as_typed("why", path)
        again = f"{this} --anew"
        after = as_typed("plan", path) if anew else again
        return Answer(
            result.model_dump(mode="json"),
            lambda: outlook_screen.why(result, names(tables), again).removesuffix("\n"),
            code=Exit.NO_PLAN if result.nothing_grows else Exit.DONE,
            following=as_typed("light", path) if result.nothing_grows else after,
            glance=lambda: why_glance(result, names(tables)),
            everything=again if anew else this,
        )

    respond(path, sets, answer, as_json=as_json, slow=True, whole=whole)


def _with_cures(
    warnings: tuple[str, ...], space: Space, tables: CropTables, paces: "Paces"
) -> tuple[str, ...]:
    """Return the reasons why nothing grows, with what would help as it was computed."""
    from cropcal.planning.growth.cautions import wanted_crops
    from cropcal.planning.growth.suitability import suitabilities
    from cropcal.planning.site.bed_light import bed_lights
    from cropcal.season.cured import cured, with_cures

    lights = bed_lights(space, tables)
    fits = suitabilities(space, lights, wanted_crops(space, tables))
    return with_cures(warnings, fits, *cured(space, tables, lights, fits, paces), tables)


@contextmanager
def _trying(time_limit_s: float, *, anew: bool) -> Iterator["SolveOptions"]:
    """Search with progress where many plans are made: Ctrl-C then shows what is known; else it ends all."""
    from cropcal.planning.planner import SolveOptions

    if not anew:
        yield SolveOptions(time_limit_s=time_limit_s)
        return
    with effort(time_limit_s) as trying:
        yield trying


def _tell(done: int, of: int) -> None:
    say(f"planning anew for change {done + 1} of {of}; Ctrl-C shows those that are done")


def _written(path: Path, journal: Noted) -> "Grown | None":
    """Return the plan that was written, if space.toml and crops.csv are as they were."""
    from cropcal.planning.same_sowings import Grown

    written = journal.plan()
    if written is None or written.space_sha256 != fingerprint(path, space_only=True):
        return None
    return Grown(written.batches, written.sites)

"""``cropcal why``: what limits a plan, the gain from one more of each thing, and other ways to run it."""

from collections.abc import Sequence
from pathlib import Path

from cropcal.cli.respond import Answer, respond
from cropcal.problems import Exit
from cropcal.records.crop import CropTables
from cropcal.records.space import Space
from cropcal.season.beside import noted
from cropcal.season.files import names


def why(path: Path, *, time_limit_s: float, as_json: bool, sets: Sequence[str] = ()) -> None:
    """Print why the plan of a season is no better."""
    journal = noted(path)

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.planning.planner import SolveOptions
        from cropcal.planning.what_if import what_if
        from cropcal.season.learned import learned_paces
        from cropcal.show.terminal import why as outlook_screen

        paces = learned_paces(journal, space, tables)
        result = what_if(space, tables, SolveOptions(time_limit_s=time_limit_s), paces)
        return Answer(
            result.model_dump(mode="json"),
            lambda: outlook_screen.why(result, names(tables)).removesuffix("\n"),
            code=Exit.NO_PLAN if result.nothing_grows else Exit.DONE,
        )

    respond(path, sets, answer, as_json=as_json, slow=True)

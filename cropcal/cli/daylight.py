"""``cropcal daylight``: the sun's light through the window, month by month."""

from collections.abc import Sequence
from pathlib import Path

from cropcal.cli.respond import Answer, respond
from cropcal.records.crop import CropTables
from cropcal.records.daylight import DaylightYear
from cropcal.records.space import Space
from cropcal.season.files import keep_files
from cropcal.season.load import refuse_one
from cropcal.show.data import daylight_json
from cropcal.show.glance.daylight import daylight_glance
from cropcal.show.glance.fitting import ScreenPart
from cropcal.show.terminal import basics as screens
from cropcal.show.terminal import daylight as daylight_screen
from cropcal.show.text import as_typed

FILES = ("daylight.csv", "daylight.png")


def daylight(
    path: Path, out: Path | None, *, as_json: bool, sets: Sequence[str] = (), whole: bool = False
) -> None:
    """Print the sun's light by month and the lamp hours to add; draw the year on demand."""

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.planning.photoperiod.daylight_year import daylight_year

        year = daylight_year(space, tables)
        if year is None:
            refuse_one(
                str(path),
                "no latitude and longitude",
                "both under [place], beside timezone",
                "and daylight_share in each [[zone]] that has a window",
            )
        written = screens.written(str(out), FILES).strip("\n") if out else ""

        def screen() -> str:
            text = daylight_screen.daylight(year)
            return f"{text}\n{written}" if out else text.removesuffix("\n")

        return Answer(
            daylight_json.daylight(year),
            screen,
            notes=(written,) if out and as_json else (),
            keep=(lambda _: keep_files(out, _files(year))) if out else None,
            following=as_typed("plan", path),
            glance=lambda: [*daylight_glance(year), ScreenPart((), written)],
            everything=as_typed("daylight", path),
        )

    respond(path, sets, answer, as_json=as_json, whole=whole)


def _files(year: DaylightYear) -> dict[str, str | bytes]:
    """Return the year as a sheet and as a picture."""
    from cropcal.show.data import csv_sheets as sheets
    from cropcal.show.pictures import render as picture

    return {"daylight.csv": sheets.daylight(year), "daylight.png": picture.daylight_png(year)}

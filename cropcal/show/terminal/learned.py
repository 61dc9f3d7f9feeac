"""What `cropcal learned` prints: each crop's growth rate before and now, and the observations behind it."""

from collections.abc import Callable, Mapping, Sequence

from cropcal.records.forecast import Range80
from cropcal.records.learned import CropPace, LearnedReport, Lesson
from cropcal.show import text
from cropcal.show.wording import assumptions, crop_name

NOTHING = (
    "Nothing is learned yet: the journal has no batch that came up, was cut or was not"
    " ready. One weighed harvest sharpens forecasts most. Note what happens, for instance"
)
EXAMPLES = ("emerged lettuce-butterhead", "harvested lettuce-butterhead 3 heads 420 g")
CORRECTIONS = {
    "emerged": "--on DATE",
    "weighed": "AMOUNT",
    "cut ready": "--early",
    "cut early": "--on DATE",
    "not ready": "--on DATE",
}
"""The words that correct a mistaken line, by kind of observation."""
OBSERVATION_FORMS = {
    "emerged": "up after {seen} d, expected {expected} d",
    "weighed": "{seen} g a plant, expected {expected} g",
    "cut ready": "cut when ready ({seen} g a plant wanted), expected {expected} g",
    "cut early": "cut early, below {seen} g a plant, expected {expected} g",
    "not ready": "not ready, below {seen} g a plant, expected {expected} g",
}

PACE_HEADERS = ("crop", "speed", "days before", "days now", "harvests")


def learned(report: LearnedReport, names: Mapping[str, str], command: Callable[[str], str]) -> str:
    """Return the whole screen: speeds and days by crop, and the observations behind them.

    Parameters
    ----------
    report
        What was learned from the journal.
    names
        Slug of a crop -> its name.
    command
        Makes a ``cropcal log`` command for this space of the words behind it.
    """
    points = text.section("What the notes point to", text.bullets(f"{point}." for point in report.points))
    if not report.lessons:
        lines = "\n".join(f"  {command(line)}" for line in EXAMPLES)
        return f"{text.wrap(NOTHING)}\n{lines}\n{points}"
    note = text.wrap(
        "speed: growth as a share of the book's; days: from sowing to the first cut. In brackets: the range"
        " that should hold in four cases out of five. A crop without a harvest of its own learns from the"
        " others."
    )
    odd = [lesson for lesson in report.lessons if not lesson.used]
    return (
        f"{text.table(PACE_HEADERS, pace_rows(report, names), 'lrrrr')}\n\n{note}\n"
        + text.section("Coming up", _emergence(report.crops, names))
        + text.section("Light", _light(report.light))
        + text.section("Hard to believe, so not used: is it right?", odd_lessons(odd, names, command))
        + points
        + text.section("The notes behind it", _lessons(report.lessons, names))
        + text.section("Assumptions", assumptions(report.assumptions))
    )


def pace_rows(report: LearnedReport, names: Mapping[str, str]) -> list[tuple[str, ...]]:
    """Return a row for each crop: its speed, days before and now, and harvests."""
    return [
        (
            crop_name(crop.slug, names),
            f"{_percent(crop.speed)}",
            _days(crop.days_before),
            _days(crop.days_now),
            str(crop.harvests),
        )
        for crop in report.crops
    ]


def _percent(speed: Range80) -> str:
    return f"{text.percent(speed.middle)} ({speed.low * 100:.0f}-{speed.high * 100:.0f})"


def _days(days: Range80 | None) -> str:
    return "never" if days is None else f"{days.middle:.0f} ({days.low:.0f}-{days.high:.0f})"


def _emergence(crops: Sequence[CropPace], names: Mapping[str, str]) -> str:
    """Return the factor on days to emergence of crops for which it differs from the tables."""
    lines = [
        f"{crop_name(crop.slug, names)}: {crop.emergence.middle:.2f} times the book's days"
        f" ({crop.emergence.low:.2f}-{crop.emergence.high:.2f})"
        for crop in crops
        if abs(crop.emergence.middle - 1) > 0.03
    ]
    return text.bullets(lines)


def _light(light: Mapping[str, Range80]) -> str:
    """Return the factor on each zone's light that harvests suggest; it is confounded with growth speed."""
    return text.bullets(
        f"{zone}: the harvests fit best with {factor.middle:.2f} of the light that is assumed"
        f" ({factor.low:.2f}-{factor.high:.2f}). They cannot tell a dim lamp from slow growth: a reading can"
        for zone, factor in light.items()
        if abs(factor.middle - 1) > 0.05
    )


def _outcome(lesson: Lesson) -> str:
    if lesson.kind != "emerged" and lesson.seen < 1:  # a cress plant weighs a few hundredths of a gram
        return OBSERVATION_FORMS[lesson.kind].format(
            seen=text.grams(lesson.seen), expected=text.grams(lesson.expected)
        )
    digits = 0 if lesson.seen >= 10 or lesson.kind == "emerged" else 1
    return OBSERVATION_FORMS[lesson.kind].format(
        seen=text.plain(lesson.seen, digits), expected=text.plain(lesson.expected, max(digits, 0))
    )


def odd_lessons(lessons: Sequence[Lesson], names: Mapping[str, str], command: Callable[[str], str]) -> str:
    """Return the lines set aside as implausible, each with the commands that confirm or correct it."""
    return "\n".join(
        "\n".join(
            (
                text.wrap(
                    f"{text.day(lesson.on)}, {crop_name(lesson.crop, names)} {lesson.batch}:"
                    f" {_outcome(lesson)} ({_line(lesson)}).",
                    first="- ",
                    later="  ",
                ),
                f"  It is right: {command(f'--correct {lesson.id} --sure')}",
                f"  A slip:      {command(f'--correct {lesson.id} {CORRECTIONS[lesson.kind]}')}",
            )
        )
        for lesson in lessons
    )


def _line(lesson: Lesson) -> str:
    return "journal.csv" if lesson.line is None else f"journal.csv, line {lesson.line}"


def _lessons(lessons: Sequence[Lesson], names: Mapping[str, str]) -> str:
    """Return the observations used, the newest first, at most twelve."""
    used = [lesson for lesson in reversed(lessons) if lesson.used]
    lines = [
        f"{text.day(lesson.on)}, {crop_name(lesson.crop, names)} {lesson.batch}: {_outcome(lesson)}"
        for lesson in used[:12]
    ]
    more = [f"and {len(used) - 12} before"] if len(used) > 12 else []
    return text.bullets([*lines, *more])

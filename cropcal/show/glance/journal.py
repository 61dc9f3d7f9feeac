"""What ``learned`` and ``trial`` say first."""

from collections.abc import Callable, Mapping, Sequence

from cropcal.records.learned import LearnedReport, Trial
from cropcal.records.tariff import NotedBill
from cropcal.show import text
from cropcal.show.glance.fitting import ScreenPart, sentence, table_block
from cropcal.show.terminal.bill import odd_bills
from cropcal.show.terminal.learned import PACE_HEADERS, odd_lessons, pace_rows
from cropcal.show.terminal.trial import VERDICTS, batches_needed, difference_row
from cropcal.show.wording import crop_name


def learned_glance(
    report: LearnedReport,
    names: Mapping[str, str],
    command: Callable[[str], str],
    bills: Sequence[NotedBill],
    currency: str | None,
) -> list[ScreenPart]:
    """Return a line a crop, what to ask about, and what the journal points to.

    ``command`` makes a ``cropcal log`` command of the words behind it.
    """
    harvests = sum(crop.harvests for crop in report.crops)
    used = sum(lesson.used for lesson in report.lessons)
    head = f"{used} notes in the journal show how fast crops grow here, {harvests} of them harvests."
    odd = [lesson for lesson in report.lessons if not lesson.used]
    asks = tuple(odd_lessons([lesson], names, command) for lesson in odd)
    points = tuple(sentence(f"- {point}.") for point in report.points)
    costs = odd_bills(bills, currency).strip("\n").split("\n")[1:]
    return [
        ScreenPart((), text.wrap(head)),
        table_block(
            PACE_HEADERS,
            pace_rows(report, names),
            "lrrrr",
            "crops",
        ),
        ScreenPart(asks, "Hard to believe, so not used: is it right?" if asks else ""),
        ScreenPart(points, "What the notes point to" if points else ""),
        ScreenPart(tuple(costs), "What the bills point to" if costs else ""),
    ]


def trial_glance(comparison: Trial, names: Mapping[str, str]) -> list[ScreenPart]:
    """Return whether the groups differ, how many batches would tell more, and what is missing."""
    first, second = (text.clean(group) for group in comparison.groups)
    rows = [difference_row(row) for row in comparison.differences]
    headers = ("", text.clip(first, 17), text.clip(second, 17), "difference", "differs")
    more = tuple(
        sentence(f"- {row.what}: {batches_needed(row)}")
        for row in comparison.differences
        if row.verdict in ("noise", "likely")
    )
    about = "" if comparison.other else f"{crop_name(comparison.crop, names)}: "
    notes = tuple(sentence(f"- {note}") for note in (*comparison.missing, *comparison.notes))
    return [
        ScreenPart((), text.wrap(about + _answer(comparison))),
        table_block(headers, rows, "lrrrl"),
        ScreenPart(more, "To tell a difference of this size" if more else ""),
        ScreenPart(notes, "Keep in mind" if notes else ""),
    ]


def _answer(comparison: Trial) -> str:
    """Return in a sentence whether the second group differs from the first."""
    first, second = (text.clean(group) for group in comparison.groups)
    differing = [row.what for row in comparison.differences if VERDICTS[row.verdict] in ("yes", "likely")]
    if not differing:
        return f"{second} and {first} do not differ by more than chance would."
    return f"{second} and {first} differ in {' and '.join(differing)}."

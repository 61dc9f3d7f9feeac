"""What ``cropcal why`` says first: how many weeks are missed, what would help most, what is full."""

from collections.abc import Mapping

from cropcal.records.chances import ExpectedWant
from cropcal.records.outlook import LEAST_GAIN, Full, Outlook
from cropcal.show import text
from cropcal.show.glance.fitting import ScreenPart, sentence, table_block
from cropcal.show.terminal.plan import NOTHING_GROWS
from cropcal.show.terminal.why import change, cost_of, gain, verdict
from cropcal.show.wording import want_name

HELPS, WANTS, FULL = 3, 2, 2
"""Rows shown of each."""


def why_glance(outlook: Outlook, names: Mapping[str, str]) -> list[ScreenPart]:
    """Return what matters first: the chance, the best helps with gain and cost, the fullest places."""
    head = text.wrap(f"{outlook.place}: {outlook.weeks} weeks from {text.day_year(outlook.start)}")
    if outlook.nothing_grows:
        reasons = tuple(sentence(f"- {reason}") for reason in outlook.nothing_grows)
        return [ScreenPart(reasons, f"{head}\n{text.wrap(NOTHING_GROWS)}")]
    return [
        ScreenPart((), f"{head}\n{sentence(verdict(outlook))}"),
        _helps(outlook, names),
        _falls_short(outlook, names),
        _full(outlook),
    ]


def _helps(outlook: Outlook, names: Mapping[str, str]) -> ScreenPart:
    if not outlook.want_weeks:
        return ScreenPart(())
    if outlook.courses[0].expected.short_want_weeks < LEAST_GAIN:
        return ScreenPart(("Nothing needs to change: hardly any week is expected to be missed.",))
    helps = [row for row in outlook.more if row.helps]
    if not helps:
        return ScreenPart(("Nothing that was tried would help.",))
    rows = [(change(row, names), gain(row), cost_of(row, outlook.currency)) for row in helps[:HELPS]]
    heads = ("what would help most, in weeks", "fewer missed", "power a month")
    block = table_block(heads, rows, "wrr")
    return ScreenPart(block.rows, block.title, "", len(helps) - len(rows))


def _falls_short(outlook: Outlook, names: Mapping[str, str]) -> ScreenPart:
    """Return the wants that miss most weeks."""
    wants = sorted(outlook.courses[0].expected.wants, key=lambda want: -want.short_weeks)
    missed = [want for want in wants if want.short_weeks >= LEAST_GAIN]
    rows = tuple(text.clip(f"  {_missed(want, names)}", text.WIDTH) for want in missed[:WANTS])
    return ScreenPart(rows, "What is missed" if rows else "", "", len(missed) - len(rows))


def _missed(want: ExpectedWant, names: Mapping[str, str]) -> str:
    weeks = text.plain(want.short_weeks, 1)
    return f"{want_name(want.label, names)}: {weeks} of {want.weeks} weeks missed"


def _full(outlook: Outlook) -> ScreenPart:
    fullest = sorted((row for row in outlook.full if row.weeks), key=lambda row: -len(row.weeks))
    rows = tuple(_line(row, outlook.weeks) for row in fullest[:FULL])
    return ScreenPart(rows, "What is full" if rows else "", "", len(fullest) - len(rows))


def _line(row: Full, weeks: int) -> str:
    return text.clip(f"  {row.what}: in {len(row.weeks)} of {weeks} weeks", text.WIDTH)

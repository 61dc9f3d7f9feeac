"""Fourth part of the page: what each length of day gives and costs, for the slider and as a table."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from cropcal.records.hours import (
    OF_LAMP,
    CropHours,
    HoursAdvice,
    HoursChoice,
    SetPoint,
    Suit,
    TimerLine,
    ZoneHours,
)
from cropcal.show import text
from cropcal.show.page.svg import (
    Markup,
    element,
    line,
    percent,
    rect,
    words,
)
from cropcal.show.terminal.photoperiod import SUIT_WORDS, spell, timer_row
from cropcal.show.wording import set_point_value

SIGNS: dict[Suit, str] = {
    "right": "✓",
    "slow": "~",
    "unknown": "?",
    "burn": "!",
    "bolt": "✕",
    "hot": "✕",
    "dark": "✕",
    "glare": "✕",
    "air": "✕",
}
LANE, LANE_GAP, LANE_TEXT = 22.0, 22.0, 15.0
COST_TALL, HOURS_TALL = 46.0, 22.0
ROOM_PER_LETTER = 0.012
"""Share of the picture's width that a letter takes on a wide screen."""
NARROW = 2.6
"""Times that share that it takes on a narrow one."""
LEAST_ROOM = 0.03


@dataclass(frozen=True)
class CropLine:
    """One crop at one length of day, in words."""

    name: str
    suit: str
    sign: str
    suit_text: str
    days: str
    per_week: str
    cost: str


@dataclass(frozen=True)
class SliderSetting:
    """One length of day: everything the slider moves, in words."""

    hours: str
    lit: str
    output: str
    dli: str
    kwh: str
    cost: str
    quiet: str
    crops: tuple[CropLine, ...]
    mark: str

    @property
    def spoken(self) -> str:
        """Return the setting as one line, for screen readers."""
        money = f", {self.cost}" if self.cost else ""
        return f"{self.hours} of light, {self.dli} mol a day, {self.kwh} kWh{money} a month"


@dataclass(frozen=True)
class ZonePart:
    """One zone: why these hours, the settings, the table without script, and the picture."""

    name: str
    why: str
    notes: tuple[str, ...]
    settings: tuple[SliderSetting, ...]
    start: int
    table: tuple[SliderSetting, ...]
    names: tuple[str, ...]
    picture: Markup
    priced: bool
    dims: bool
    mol: str = "mol a day"


def zone_parts(advice: HoursAdvice) -> tuple[ZonePart, ...]:
    """Return every zone in which anything wanted grows."""
    return tuple(_zone(zone, advice.currency) for zone in advice.zones if zone.crops)


def data(parts: Sequence[ZonePart]) -> Any:
    """Return the slider's data: figures as text, by zone and length of day."""
    return [
        {
            "start": part.start,
            "settings": [
                {
                    "hours": setting.hours,
                    "lit": setting.lit,
                    "output": setting.output,
                    "dli": setting.dli,
                    "kwh": setting.kwh,
                    "cost": setting.cost,
                    "quiet": setting.quiet,
                    "mark": setting.mark,
                    "spoken": setting.spoken,
                    "at": place,
                    "crops": [
                        [crop.suit, f"{crop.sign} {crop.suit_text}", crop.days, crop.per_week, crop.cost]
                        for crop in setting.crops
                    ],
                }
                for setting, place in zip(part.settings, _places(len(part.settings)), strict=True)
            ],
        }
        for part in parts
    ]


def _places(count: int) -> list[str]:
    return [percent((place + 0.5) / count) for place in range(count)]


def _zone(zone: ZoneHours, currency: str | None) -> ZonePart:
    settings = tuple(_setting(choice, zone, currency) for choice in zone.choices)
    shown = zone.now or zone.pick
    start = min(
        range(len(zone.choices)),
        key=lambda place: abs(zone.choices[place].photoperiod_h - shown.photoperiod_h),
    )
    notes = [f"Drawback: {sentence}" for sentence in zone.pays]
    notes += [f"Cure: {sentence}" for sentence in zone.cures]
    notes += [f"Mind: {sentence}" for sentence in zone.warnings]
    if zone.season_saves:
        notes.append(
            f"Resetting the timer when prices change saves {text.percent(zone.season_saves)}:"
            " see cropcal photoperiod"
        )
    whole = tuple(
        setting
        for setting, choice in zip(settings, zone.choices, strict=True)
        if choice.photoperiod_h % 1 == 0 or setting.mark
    )
    return ZonePart(
        name=zone.zone,
        why=zone.why,
        notes=tuple(notes),
        settings=settings,
        start=start,
        table=whole,
        names=tuple(crop.name for crop in zone.crops),
        picture=_picture(zone, start),
        priced=zone.pick.cost_per_month is not None,
        dims=len({choice.output for choice in zone.choices}) > 1,
        mol="mol of the lamp a day" if zone.window else "mol a day",
    )


def _setting(choice: HoursChoice, zone: ZoneHours, currency: str | None) -> SliderSetting:
    marks = []
    if choice.photoperiod_h == zone.pick.photoperiod_h:
        marks.append("the pick")
    if zone.now is not None and choice.photoperiod_h == zone.now.photoperiod_h:
        same = choice.lit == zone.now.lit
        marks.append("as the plan has it" if same else "as long as the plan has it")
    return SliderSetting(
        hours=f"{text.plain(choice.photoperiod_h, 2)} h",
        lit=spell(choice.lit),
        output=text.percent(choice.output),
        dli=text.dli(choice.dli_mol_m2_d),
        kwh=text.kwh(choice.kwh_per_month),
        cost="" if choice.cost_per_month is None else text.money(choice.cost_per_month, currency),
        quiet=f"{text.plain(choice.quiet_h_per_week, 2)} h a week" if choice.quiet_h_per_week else "none",
        crops=tuple(_crop(crop, choice, currency) for crop in zone.crops),
        mark=", ".join(marks),
    )


def _crop(crop: CropHours, choice: HoursChoice, currency: str | None) -> CropLine:
    suit = choice.suits[crop.crop]
    size = 100.0 if crop.unit == "g" else 1.0
    days, per_week = choice.harvest_days.get(crop.crop), choice.per_week.get(crop.crop)
    cost, kwh = choice.cost_per_unit.get(crop.crop), choice.kwh_per_unit.get(crop.crop)
    if cost is not None:
        each = text.money(cost * size, currency)
    else:
        each = f"{text.plain(kwh * size, 2)} kWh" if kwh is not None else "-"
    unit = "100 g" if crop.unit == "g" else "head"
    return CropLine(
        name=crop.name,
        suit=suit,
        sign=SIGNS[suit],
        suit_text=SUIT_WORDS[suit],
        days="-" if days is None else f"{text.plain(days, 0)} days",
        per_week="-" if per_week is None or crop.unit is None else text.amount(per_week, crop.unit),
        cost=each if each == "-" else f"{each} a {unit}" if unit == "head" else f"{each} per {unit}",
    )


def _picture(zone: ZoneHours, start: int) -> Markup:
    """Return the hours from left to right: how well each crop does, the cost, and a movable mark."""
    first, count = zone.choices[0].photoperiod_h, len(zone.choices)
    step = (zone.choices[-1].photoperiod_h - first) / max(count - 1, 1) or 1.0

    def at(hours: float, part: float) -> float:
        return ((hours - first) / step + part) / count

    parts: list[Markup] = []
    names: list[Markup] = []
    y = 0.0
    for crop in zone.crops:
        names.append(words(0, y + LANE_TEXT, crop.name, "lane"))
        y += LANE_GAP
        for span in crop.spans:
            left, right = at(span.from_h, 0.0), at(span.to_h, 1.0)
            parts.append(rect(percent(left), y, percent(right - left), LANE, f"span {span.suit}"))
            parts.append(_in_span(span.suit, left, right, y + 15))
        y += LANE + 4
    priced = zone.pick.cost_per_month is not None
    names.append(words(0, y + LANE_TEXT, "what the lamps cost" if priced else "what the lamps draw", "lane"))
    y += LANE_GAP
    values = [(choice.cost_per_month if priced else choice.kwh_per_month) or 0.0 for choice in zone.choices]
    top = max(values, default=0.0) or 1.0
    for place, value in enumerate(values):
        tall = value / top * COST_TALL
        parts.append(rect(percent(place / count), y + COST_TALL - tall, percent(1 / count), tall, "price"))
    y += COST_TALL
    parts.append(line("0%", y, "100%", y, "axis"))
    for hours in range(int(first), int(zone.choices[-1].photoperiod_h) + 1, 4):
        x = percent(at(hours, 0.5))
        parts.append(line(x, y, x, y + 5, "axis"))
        anchor = "start" if hours == int(first) else "end" if at(hours, 0.5) > 0.97 else "middle"
        parts.append(words(x, y + HOURS_TALL - 4, f"{hours} h", "small", text_anchor=anchor))
    x = percent((start + 0.5) / count)
    parts.append(line(x, 0, x, y, "mark"))
    spoken = (
        f"How well each crop does in {zone.zone} by hours of light a day. The same is in the table below."
    )
    return element(
        "svg",
        *parts,
        *names,
        class_="trade",
        width="100%",
        height=y + HOURS_TALL,
        role="img",
        aria_label=spoken,
    )


def _in_span(suit: Suit, left: float, right: float, y: float) -> Markup:
    """Return the sign of a crop's suitability, with the word beside it where there is room."""
    label, wide = SUIT_WORDS[suit], right - left
    if wide < LEAST_ROOM:
        return Markup("")
    named = wide > ROOM_PER_LETTER * len(label) + 0.02
    name = element("tspan", f" {label}", class_="name") if named else Markup("")
    tight = " tight" if wide < NARROW * (ROOM_PER_LETTER * len(label) + 0.02) else ""
    x = percent((left + right) / 2)
    return element("text", SIGNS[suit], name, x=x, y=y, class_=f"in-span{tight}", text_anchor="middle")


def timers(lines: Sequence[TimerLine]) -> tuple[tuple[str, str, str, str, str], ...]:
    """Return each timer's settings, one row each."""
    return tuple(timer_row(line) for line in lines)


def set_points(points: Iterable[SetPoint]) -> tuple[tuple[str, str, str, str, str], ...]:
    """Return zone, what, value, from when and why of each set point but the lamps'; see ``timers``."""
    return tuple(
        (
            point.zone or "all zones",
            point.what,
            set_point_value(point),
            text.day_year(point.start) if point.start else "",
            point.note,
        )
        for point in points
        if point.what not in OF_LAMP
    )

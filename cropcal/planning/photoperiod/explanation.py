"""Why these hours: objections of each crop, what decides the pick, and what would cure a compromise."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from cropcal.planning.growth.crop_in_bed import LONGEST_DAY_H
from cropcal.planning.growth.suitability import SMALL_FAN, TIPS_MAY_BURN
from cropcal.planning.photoperiod.requirements import LightRequirement, limits_of, mean_ppfd
from cropcal.planning.photoperiod.settings import (
    SLOWEST,
    Grid,
    Judged,
    allowed_timers,
    best_setting,
    is_right,
    judge,
)
from cropcal.planning.power.quarter_hour_prices import Array, ByQuarter
from cropcal.planning.site.air import FAN_W_PER_M3_H, MOST_FAN_M3_H_M2
from cropcal.records.base import clock
from cropcal.records.hours import (
    SUITS,
    HoursChoice,
    HoursSpan,
    Suit,
)
from cropcal.records.space import Zone
from cropcal.science import heat
from cropcal.science.suiting import AIR, BURN, HOT, Codes
from cropcal.units import MOL_PER_UMOL_H

NOT_KNOWN = ", and nothing is known of longer days"
EVEN = 1e-9
"""Difference of shares that is only rounding."""
NO_CURE = "no single change cures it: see each crop's drawbacks"
TRIED_LIGHT = (0.9, 1.1, 0.8, 1.2, 0.7, 1.3, 0.6, 1.4, 0.5, 1.5, 0.4, 1.7, 0.3, 0.2, 0.1, 0.05, 2.0)
"""Shares of today's light that are tried as a cure, the nearest first."""


FLOWS_M3_H = (10, 15, 20, 25, 30, 40, 50, 60, 80, 100, 120, 150, 200, 250, 300, 400, 500, 700, 1000)
"""Flows that are tried as a cure for heat."""


@dataclass(frozen=True, eq=False)
class Case:
    """One zone with all that a reason may need."""

    zone: Zone
    needs: tuple[LightRequirement, ...]
    judged: Judged
    place: tuple[int, int]
    prices: ByQuarter
    watts: float = 0.0
    """Watts of the lamps as the file has them."""
    days_on: Callable[[Grid], Sequence[Array]] | None = None
    """Days to harvest of each crop on another grid; None where growth is not looked at."""

    @property
    def on(self) -> Grid:
        """Return the grid."""
        return self.judged.on

    def spans(self) -> Iterator[tuple[LightRequirement, tuple[HoursSpan, ...]]]:
        """Yield each requirement and its suitability by length of the day, at the picked output."""
        for need, crop_codes in zip(self.needs, self.judged.codes, strict=True):
            yield need, suit_spans(self.on, crop_codes[self.place[0]])


def suit_spans(on: Grid, crop_codes: Codes) -> tuple[HoursSpan, ...]:
    """Return the suitability of day lengths in one stretch; ``crop_codes`` (N,) are those at one output."""
    single = np.flatnonzero(on.timers.length_2 == 0)
    hours, length = np.unique(on.lit_h[single], return_inverse=True)
    suit_by_length = np.full(len(hours), len(SUITS))
    # beside the sun the start of the lamp hours matters: the best counts
    np.minimum.at(suit_by_length, length, crop_codes[single])
    step = np.flatnonzero(np.diff(suit_by_length, prepend=-1))
    ends = [*step[1:], len(hours)]
    return tuple(
        HoursSpan(from_h=float(hours[a]), to_h=float(hours[b - 1]), suit=SUITS[suit_by_length[a]])
        for a, b in zip(step, ends, strict=True)
    )


def objection(need: LightRequirement, suit: Suit, dli: float, seen_h: float) -> str:
    """Return the objection of a crop to some hours in a few words, empty if they suit it."""
    limits = need.limits
    text = {
        "right": "",
        "slow": f"slow at {dli:.1f} mol a day, "
        + (f"less than the {limits.least_dli:g} that were tested, " if dli < limits.least_dli else "")
        + f"does well from {limits.enough_dli:.3g}",
        "unknown": f"no source says whether it tolerates a day of {seen_h:g} h",
        "burn": f"leaf tips may burn at {dli:.1f} mol a day, more than {limits.ceiling_dli:g}",
        "bolt": f"bolts: a day of {seen_h:g} h, it tolerates {limits.longest_h:g}",
        "hot": f"too hot while the lamp is on: growth stops at {limits.max_c:g} °C"
        + ("" if np.isinf(limits.quality_c) else f", quality falls above a mean of {limits.quality_c:g}"),
        "dark": f"too dark: {dli:.1f} mol a day, the least that was tested is {limits.least_dli:g}",
        "glare": f"far too bright: {dli:.1f} mol a day",
        "air": f"grows only between {limits.base_c:g} and {limits.max_c:g} °C",
    }[suit]
    return f"{need.name}: {text}" if text else ""


def problems(case: Case, place: tuple[int, int]) -> tuple[str, ...]:
    """Return all objections to a setting: of each crop, quiet hours, very long days."""
    output, timer = place
    on = case.on
    texts = []
    for need, crop_codes in zip(case.needs, case.judged.codes, strict=True):
        suit = SUITS[int(crop_codes[place])]
        dli = need.mean_ppfd_umol_m2_s * on.brightness[output] * on.lit_h[timer] * MOL_PER_UMOL_H
        texts.append(objection(need, suit, float(dli), float(on.seen_h[timer])))
    if on.quiet_min[timer] > 0:
        texts.append(f"the lamp is on for {on.quiet_min[timer] / 60:.3g} quiet hours a week")
    if on.lit_h[timer] > LONGEST_DAY_H:
        texts.append(f"more than {LONGEST_DAY_H:g} h: no benefit is in print, and some crops are harmed")
    return tuple(text for text in texts if text)


def why(case: Case, *, priced: bool) -> str:
    """Return what decided the pick."""
    least = "cheapest" if priced else "fewest"
    if not case.needs:
        return "nothing that is wanted grows here: 16 h is common practice for salad"
    fewest, most = _narrowest(case)
    name = "everything wanted here" if len(case.needs) > 1 else case.needs[0].name
    if is_right(case.judged, case.place):
        most = "" if most.endswith(NOT_KNOWN) else most
        ends = ", ".join(text for text in (fewest, most, _too_slow(case)) if text)
        return f"the {least} hours that suit {name}" + (f": {ends}" if ends else "")
    troubles = (_too_slow(case), _tips_or_time(case), _too_bright(case), _too_weak(case), _too_hot(case))
    if case.zone.has_daylight:
        return f"no one setting suits {name} in all planned months, so this is the best compromise"
    ends = "; ".join(text for text in (fewest, most, *troubles) if text)
    return f"no hours suit {name}, so this is the best compromise" + (f": {ends}" if ends else "")


def _too_slow(case: Case) -> str:
    """Return in words that fewer hours would suit as well, but make the crops slow; empty if none would."""
    on, judged, (output, timer) = case.on, case.judged, case.place
    as_good = judged.lacking[output] <= judged.lacking[output, timer] + EVEN
    for counts in (*judged.harm, judged.burnt):
        as_good &= counts[output] <= counts[output, timer]
    shorter = as_good & (on.lit_h < on.lit_h[timer]) & (on.quiet_min <= on.quiet_min[timer])
    if not (shorter & (judged.slowness[output] > SLOWEST)).any():
        return ""
    return f"below {on.lit_h[timer]:g} h a crop takes more than {SLOWEST:g} times its fewest days"


def _tips_or_time(case: Case) -> str:
    """Return in words why hours are picked at which leaf tips may burn: the others are too slow."""
    judged, (output, timer) = case.judged, case.place
    burnt = [
        need.name
        for need, crop_codes in zip(case.needs, judged.codes, strict=True)
        if crop_codes[case.place] == BURN
    ]
    unhurt = allowed_timers(case.on) & (judged.burnt[output] < judged.burnt[output, timer])
    for counts in judged.harm:
        unhurt &= counts[output] <= counts[output, timer]
    if not burnt:
        return ""
    if not unhurt.any():
        return f"the light is too strong for {' and '.join(burnt)} whatever the hours: {TIPS_MAY_BURN}"
    safe_h = case.on.lit_h[unhurt].max()
    return (
        f"the light is too strong for its few hours: at {safe_h:g} h, the longest that leaf tips of "
        f"{' and '.join(burnt)} can take, a crop needs {judged.slowness[output][unhurt].min():.2g} "
        f"times its fewest days, more than {SLOWEST:g}. So {TIPS_MAY_BURN}"
    )


def _too_bright(case: Case) -> str:
    """Return the crops that are spoilt by too much light at every length of day, in words."""
    spoilt = [need.name for need, spans in case.spans() if {span.suit for span in spans} == {"glare"}]
    return f"the light is far too much for {' and '.join(spoilt)} whatever the hours" if spoilt else ""


def _too_weak(case: Case) -> str:
    """Return the crops that grow well at no length of day for lack of light, in words."""
    return _never_right(case, {"slow", "dark"}, but={"hot", "air"}, complaint="the light is too weak for")


def _too_hot(case: Case) -> str:
    """Return the crops that grow well at no length of day because of the air, in words."""
    return _never_right(case, {"hot", "air"}, but=set(), complaint="the air is not right for")


def _never_right(case: Case, trouble: set[str], *, but: set[str], complaint: str) -> str:
    names = []
    for need, spans in case.spans():
        suits = {span.suit for span in spans}
        if trouble & suits and not (but | {"right"}) & suits:
            names.append(need.name)
    subject = "it" if len(case.needs) == 1 else " and ".join(names)
    return f"{complaint} {subject} at any day length known to be safe" if names else ""


def _narrowest(case: Case) -> tuple[str, str]:
    """Return the crop that needs the most hours and the crop that tolerates the fewest, in words."""
    long, short = (0.0, ""), (99.0, "")
    for need, spans in case.spans():
        right = [span for span in spans if span.suit == "right"]
        if not right:
            continue
        if right[0].from_h > long[0]:
            long = (right[0].from_h, f"{_verb(need, 'grow')} well from {right[0].from_h:g} h of this light")
        if right[-1].to_h < short[0]:
            short = (right[-1].to_h, f"{_verb(need, 'tolerate')} {right[-1].to_h:g} h{_end_reason(spans)}")
    return long[1] if long[0] > 4 else "", short[1] if short[0] < LONGEST_DAY_H else ""


def _verb(need: LightRequirement, verb: str) -> str:
    """Return "Basil grows", "Seedlings grow"."""
    return f"{need.name} {verb}{'s' if need.crop else ''}"


def _end_reason(spans: tuple[HoursSpan, ...]) -> str:
    """Return why a crop tolerates no longer day."""
    after = {span.suit: following.suit for span, following in pairwise(spans)}.get("right")
    reasons = {
        "bolt": " before it bolts",
        "burn": " before leaf tips burn",
        "unknown": NOT_KNOWN,
        "hot": " before it gets too warm",
    }
    return reasons.get(after or "", "")


def cures(case: Case) -> tuple[str, ...]:
    """Return what would let everything wanted do well; each was tried, none is a guess."""
    if not case.needs or is_right(case.judged, case.place):
        return ()
    texts = [_small_fan(case), _other_light(case), _more_air(case), _quiet_given_up(case)]
    texts += [_own_timer(case, need) for need in case.needs] if len(case.needs) > 1 else []
    kept = tuple(text for text in texts if text)
    return kept or (NO_CURE,)


def _own_timer(case: Case, need: LightRequirement) -> str:
    at = next(number for number, other in enumerate(case.needs) if other is need)
    codes, days = case.judged.codes, case.judged.days
    others = (*case.needs[:at], *case.needs[at + 1 :])
    rest = judge(others, case.on, (*codes[:at], *codes[at + 1 :]), (*days[:at], *days[at + 1 :]))
    place = best_setting(rest, allowed_timers(case.on))
    if not is_right(rest, place):
        return ""
    alone = judge([need], case.on, codes[at : at + 1], days[at : at + 1])
    own = best_setting(alone, allowed_timers(case.on))
    fine = is_right(alone, own)
    then = f"{need.name} on a shelf and timer of {'its' if need.crop else 'their'} own" + (
        f" ({case.on.lit_h[own[1]]:g} h)" if fine else ""
    )
    return f"{then}; {case.on.lit_h[place[1]]:g} h then suit all the rest"


def _small_fan(case: Case) -> str:
    """Return that moving air lets all do well, where it does: leaf tips then stand more light."""
    if case.zone.air_moving:
        return ""
    moved = case.zone.model_copy(update={"air_moving": True})
    needs = [
        replace(need, limits=limits_of(need.crop, moved)) if need.crop is not None else need
        for need in case.needs
    ]
    hours_h = _right_hours_h(case, needs, case.on)
    return f"{SMALL_FAN}; {hours_h:g} h then suit {_whom(case)}" if hours_h else ""


def _other_light(case: Case) -> str:
    now = case.on.brightness[case.place[0]]
    for share in TRIED_LIGHT:
        hours_h = _right_hours_h(case, case.needs, _with_brightness(case.on, share * now))
        if hours_h:
            then = f"{hours_h:g} h then suit {_whom(case)}"
            umol = f"about {5 * round(share * now * mean_ppfd(case.needs) / 5)} µmol"
            if share > 1:
                more = f"{100 * (share - 1):.0f}% more light, {umol}"
                return f"{more} (lamp lower or brighter, or white walls); {then}"
            return f"{100 * (1 - share):.0f}% less light, {umol} (lamp turned down or higher up); {then}"
    return ""


def _whom(case: Case) -> str:
    return "all" if len(case.needs) > 1 else "it"


def _right_hours_h(case: Case, needs: Sequence[LightRequirement], on: Grid) -> float | None:
    """Return the hours that would be picked on a grid if they suit all, else None."""
    judged = judge(needs, on)
    place = best_setting(judged, allowed_timers(on))
    if not is_right(judged, place):
        return None
    if case.days_on is not None:
        judged = replace(judged, days=tuple(case.days_on(on)))
        place = best_setting(judged, allowed_timers(on))
    return float(on.lit_h[place[1]]) if is_right(judged, place) else None


def _with_brightness(on: Grid, brightness: float) -> Grid:
    """Return the same timers under one other light; the air is taken as it is now."""
    return replace(
        on, brightness=np.array([brightness]), mean_air_c=on.mean_air_c[:1], top_air_c=on.top_air_c[:1]
    )


def _more_air(case: Case) -> str:
    """Return the least flow of the room's air that lets all do well, or that at least ends the heat."""
    zone = case.zone
    if zone.room_c is None or case.watts <= 0 or not _in_heat(case.judged, case.place):
        return ""
    ends_heat = ""
    for flow in FLOWS_M3_H:
        if flow <= (zone.fan_m3_h or 0.0) or flow > MOST_FAN_M3_H_M2 * zone.area_m2:
            continue
        judged = judge(case.needs, _with_flow(case, flow))
        place = best_setting(judged, allowed_timers(case.on))
        hours = f"{case.on.lit_h[place[1]]:g} h"
        if is_right(judged, place):
            return f"a fan that blows {flow} m³/h of the room's air through; {hours} then suit everything"
        if not ends_heat and not _in_heat(judged, place):
            ends_heat = f"a fan that blows {flow} m³/h of the room's air through ends the heat, at {hours}"
    return ends_heat


def _in_heat(judged: Judged, place: tuple[int, int]) -> bool:
    return any(int(crop_codes[place]) in (HOT, AIR) for crop_codes in judged.codes)


def _with_flow(case: Case, flow_m3_h: float) -> Grid:
    """Return the same timers with another flow of the room's air, its fan's own heat counted."""
    zone, on = case.zone, case.on
    loss, room_c = zone.loss_w_per_k or 0.0, zone.room_c or 0.0
    before = heat.rise_k(case.watts, zone.fan_m3_h or 0.0, loss)
    after = heat.rise_k(case.watts + FAN_W_PER_M3_H * flow_m3_h, flow_m3_h, loss)
    left = float(after / before)
    mean, top = (room_c + left * (air - room_c) for air in (on.mean_air_c, on.top_air_c))
    return replace(on, mean_air_c=mean, top_air_c=top)


def _quiet_given_up(case: Case) -> str:
    loud = replace(case.on, quiet_min=np.zeros_like(case.on.quiet_min))
    judged = replace(case.judged, on=loud)
    place = best_setting(judged, allowed_timers(loud))
    if not is_right(judged, place):
        return ""
    hours = case.on.quiet_min[place[1]] / 60
    return (
        f"the lamp on for {hours:.3g} quiet hours a week; {case.on.lit_h[place[1]]:g} h then suit everything"
        if hours
        else ""
    )


def compromise_costs(case: Case, choices: tuple[HoursChoice, ...], pick: HoursChoice) -> tuple[str, ...]:
    """Return the cost of a compromise for each crop: the days it takes longer, or the risk."""
    texts = []
    for need, spans in case.spans():
        suit = pick.suits[need.slug]
        at_best = next((choice for choice in choices if choice.suits[need.slug] == "right"), None)
        late = pick.harvest_days.get(need.slug, np.inf)
        if suit == "right":
            continue
        if suit in ("slow", "unknown") and at_best and need.slug in at_best.harvest_days:
            soon = at_best.harvest_days[need.slug]
            if round(late) <= round(soon):
                continue
            texts.append(
                f"{need.name}: {late:.0f} days to harvest, {soon:.0f} at {at_best.photoperiod_h:g} h"
            )
        elif suit in ("slow", "unknown"):
            least = min((SUITS.index(span.suit) for span in spans), default=0)
            trouble = "slow" if suit == "slow" else "its day limit is not known"
            texts.append(f"{need.name}: {trouble}, and {_at_best(least)}")
        else:
            texts.append(f"{need.name} may be lost")
    return tuple(texts)


def _at_best(code: int) -> str:
    return "no known length of day suits it better" if code else "what suits it is worse for the rest"


def warnings(case: Case) -> tuple[str, ...]:
    """Return warnings about the place itself."""
    watched = [need.name for need in case.needs if not np.isnan(need.limits.longest_h)]
    if not watched:
        return ()
    return (
        f"{' and '.join(watched)}: keep the dark hours dark, with no light from next door or the street; "
        "1 µmol at night makes a long day (Runkle 2007), for spinach a hundredth of that (Takao 1998)",
    )


def stretches_text(lit: Sequence[tuple[int, int]]) -> str:
    """Return stretches as text: "17:00-09:00"."""
    return " and ".join(f"{clock(on)}-{clock(off)}" for on, off in lit)

"""Lamp hours as JSON: the pick, every choice, and lengths in drawn seasons."""

from cropcal.records.base import clock
from cropcal.records.hours import HoursAdvice, HoursChoice, LampLength
from cropcal.show.data.json_forms import Json


def photoperiod(advice: HoursAdvice) -> Json:
    """Return ``zones[]`` with the pick, every choice by day length, and each crop's limits on the hours."""
    return {
        "currency": advice.currency,
        "zones": [
            {
                "zone": zone.zone,
                "pick": {**_hours(zone.pick), "why": zone.why, "suits_all": zone.suits_all},
                "now": None if zone.now is None else _hours(zone.now),
                "cures": list(zone.cures),
                "crops": [crop.model_dump() for crop in zone.crops],
                "choices": [_hours(choice) for choice in zone.choices],
                "lengths": [_lamp_length(length) for length in zone.lengths],
                "warnings": list(zone.warnings),
            }
            for zone in advice.zones
        ],
        "timers": [
            {
                "zone": line.zone,
                "from": line.start.isoformat(),
                "on": clock(line.on),
                "off": clock(line.off),
                "output": line.output,
            }
            for line in advice.timers
        ],
        "cautions": list(advice.cautions),
        "assumptions": [item.model_dump() for item in advice.assumptions],
    }


def _lamp_length(length: LampLength) -> Json:
    setting = _hours(length.setting)
    kept = ("photoperiod_h", "lit", "output", "harvest_days")
    return {key: setting[key] for key in kept} | length.model_dump(exclude={"setting"})


def _hours(choice: HoursChoice) -> Json:
    form = choice.model_dump()
    form["lit"] = [[clock(on), clock(off)] for on, off in choice.lit]
    return form

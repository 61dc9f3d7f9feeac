"""What was measured beside a space, for ``--json`` and the bill."""

from collections.abc import Sequence
from typing import Any

from cropcal.records.measured import Metered
from cropcal.records.space import Space
from cropcal.show import text


def form(space: Space) -> dict[str, Any]:
    """Return ``measured[]``: each series, what it covers, and what is taken from it; nothing without any."""
    air = [
        {
            "source": "air.csv",
            "zone": seen.zone,
            "from": seen.first.isoformat(),
            "until": seen.last.isoformat(),
            "days": seen.days,
            "lamp_on_air_c": seen.lamp_on_c,
            "lamp_off_air_c": seen.lamp_off_c,
            "instead_of": seen.instead,
            "used": seen.used,
        }
        for seen in space.measured_air
    ]
    meter = [
        {
            "source": "meter.csv",
            "zone": seen.zone,
            "from": seen.first.isoformat(),
            "until": seen.last.isoformat(),
            "days": seen.days,
            "kwh": seen.kwh,
            "computed_kwh": seen.computed_kwh,
            "ratio": seen.ratio,
            "lamps_of_label": seen.factor,
            "causes": list(seen.causes),
            "used": seen.factor is not None,
        }
        for seen in space.metered
    ]
    return {"measured": [*air, *meter]} if air or meter else {}


def against_meter(metered: Sequence[Metered]) -> str:
    """Return each metered stretch against what the file comes to, with likely causes."""
    said = []
    for seen in metered:
        off = f"{abs(seen.ratio - 1):.0%} {'more' if seen.ratio > 1 else 'less'} on the meter"
        head = (
            f"{seen.zone or 'everything'}, {text.span(seen.first, seen.last)}: {text.kwh(seen.kwh)} kWh by "
            f"meter.csv, {text.kwh(seen.computed_kwh)} kWh by the file's watts and hours: "
            f"{off if seen.causes else 'they agree'}."
        )
        said.append(text.wrap(head, later="  "))
        said += [text.wrap(cause, first="- ", later="  ") for cause in seen.causes]
    return text.section("Against the meter", "\n".join(said))

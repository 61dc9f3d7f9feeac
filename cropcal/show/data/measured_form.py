"""Measured series of a space (air, meter), for ``--json`` and the bill."""

from collections.abc import Sequence
from typing import Any

from cropcal.records.measured import Metered
from cropcal.records.space import Space
from cropcal.show import text


def form(space: Space) -> dict[str, Any]:
    """Return ``measured[]``: each series with its period and the values taken from it; {} without any."""
    air = [
        {
            "source": "air.csv",
            "zone": series.zone,
            "from": series.first.isoformat(),
            "until": series.last.isoformat(),
            "days": series.days,
            "lamp_on_air_c": series.lamp_on_c,
            "lamp_off_air_c": series.lamp_off_c,
            "instead_of": series.instead,
            "used": series.used,
            **({"humidity": series.humidity.model_dump(mode="json")} if series.humidity else {}),
        }
        for series in space.measured_air
    ]
    meter = [
        {
            "source": "meter.csv",
            "zone": series.zone,
            "from": series.first.isoformat(),
            "until": series.last.isoformat(),
            "days": series.days,
            "kwh": series.kwh,
            "computed_kwh": series.computed_kwh,
            "ratio": series.ratio,
            "lamps_of_label": series.factor,
            "causes": list(series.causes),
            "used": series.factor is not None,
        }
        for series in space.metered
    ]
    return {"measured": [*air, *meter]} if air or meter else {}


def against_meter(metered: Sequence[Metered]) -> str:
    """Return each metered stretch beside the kWh computed from the file, with likely causes."""
    lines = []
    for stretch in metered:
        off = f"{abs(stretch.ratio - 1):.0%} {'more' if stretch.ratio > 1 else 'less'} on the meter"
        head = (
            f"{stretch.zone or 'everything'}, {text.span(stretch.first, stretch.last)}: "
            f"{text.kwh(stretch.kwh)} kWh by meter.csv, "
            f"{text.kwh(stretch.computed_kwh)} kWh by the file's watts and hours: "
            f"{off if stretch.causes else 'they agree'}."
        )
        lines.append(text.wrap(head, later="  "))
        lines += [text.wrap(cause, first="- ", later="  ") for cause in stretch.causes]
    return text.section("Against the meter", "\n".join(lines))

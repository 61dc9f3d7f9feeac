"""A bed's readings against what its lamps should give, and what may be the matter if they disagree."""

from collections.abc import Callable, Iterator
from math import exp, hypot, log
from typing import NamedTuple

from cropcal.planning.site.lamp_light import NEAREST_M, LampLight
from cropcal.records.fit import LightCheck
from cropcal.units import Z_80

FARTHEST_M = 3.0
OFF_BY = {
    "distance_m": 0.05,
    "walls": 0.15,
    "output": 0.30,
    "age": 0.13,
    "meter": 0.15,
    "other light": 0.20,
    "slip": 0.10,
}
"""How far things are off when they are: a distance taken to the shelf, walls judged by eye, a dial, age and
dust (90 % of lamps lose less than 20 %), a meter held askew or in a shadow, other light in the reading, a
mistyped number (all assumed; the causes themselves, and "a few to 20 %" for age and dust, are common
practice). Distance and walls in their own unit, the others in ln PPFD."""
RARE = 3.0
"""How much rarer slips of the pen are, in ln (assumed)."""
CLOSE = 2.5
"""A slip explains a ratio exactly: it is named only within this multiple of its ``OFF_BY``."""
AGED = 0.75
"""Below this share of its light no lamp is merely old or dusty."""
SHOWN = 4
UNBELIEVABLE = 5.0
"""A cause that must be off by more than this multiple of its ``OFF_BY`` is not named."""


class Cause(NamedTuple):
    """A possible cause of a difference: its error as a multiple of its ``OFF_BY``, and words for it.

    ``sd_ln`` is that ``OFF_BY`` in ln PPFD; ``rarity`` is minus ln of how likely it is beside other causes.
    """

    off: float
    sd_ln: float
    words: str
    rarity: float = 0.0

    @property
    def unlikely(self) -> float:
        """Return minus ln of the normal density of the ratio, if this were the cause."""
        return self.off**2 / 2 + log(self.sd_ln) + self.rarity


def compare_with_lamps(
    lamps: LampLight, read_umol_m2_s: float, sd_ln_read: float, sd_ln_lamps: float
) -> LightCheck:
    """Return the comparison of a mean of readings with what the lamps should give."""
    computed = float(lamps.sites_umol_m2_s().mean())
    ratio = read_umol_m2_s / computed
    allowed = exp(Z_80 * hypot(sd_ln_read, sd_ln_lamps))
    agrees = 1 / allowed <= ratio <= allowed
    return LightCheck(
        computed_umol_m2_s=computed,
        ratio=ratio,
        low_80=1 / allowed,
        high_80=allowed,
        causes=() if agrees or ratio <= 0 else causes(lamps, ratio),
    )


def causes(lamps: LampLight, ratio: float) -> tuple[str, ...]:
    """Return the possible causes in words, the likeliest first, each with the number that explains it."""
    candidates = [*_slips(lamps, ratio), *_distance(lamps, ratio), *_walls(lamps, ratio)]
    candidates += _too_dim(lamps, ratio) if ratio < 1 else _too_bright(lamps, ratio)
    likely = sorted(
        (cause for cause in candidates if cause.off <= UNBELIEVABLE), key=lambda cause: cause.unlikely
    )
    return tuple(cause.words for cause in likely[:SHOWN])


def _direct(kind: str, ratio: float, words: str) -> Cause:
    """Return a cause that changes the light itself by the ratio."""
    return Cause(abs(log(ratio)) / OFF_BY[kind], OFF_BY[kind], words)


def _shift(kind: str, by: float, ratio: float, words: str) -> Cause:
    """Return a cause that must shift by ``by`` to change the light by the ratio."""
    off = max(abs(by), 1e-6) / OFF_BY[kind]
    return Cause(off, abs(log(ratio)) / off, words)


def _distance(lamps: LampLight, ratio: float) -> Iterator[Cause]:
    nearest = min(lamps.distances_m)
    sign, most = (-1, FARTHEST_M) if ratio < 1 else (1, nearest - NEAREST_M)
    by = _solve(lambda moved: lamps.mean_umol_m2_s(sign * moved), lamps.mean_umol_m2_s() * ratio, 0.0, most)
    if by is not None:
        cm = 100 * (nearest - sign * by)
        words = f"distance: the lamp hangs {cm:.0f} cm above the leaves, not {100 * nearest:.0f}"
        yield _shift("distance_m", by, ratio, words)


def _walls(lamps: LampLight, ratio: float) -> Iterator[Cause]:
    now = sum(lamps.zone.walls) / 4
    wanted = lamps.mean_umol_m2_s() * ratio
    reflectance = _solve(lambda walls: lamps.mean_umol_m2_s(walls=(walls,) * 4), wanted, 0.0, 0.98)
    if reflectance is not None:
        yield _shift(
            "walls", reflectance - now, ratio, f"walls: they reflect {reflectance:.0%}, not {now:.0%}"
        )


def _slips(lamps: LampLight, ratio: float) -> Iterator[Cause]:
    """Yield numbers that look mistyped: a comma one place off, lumens or watts for photons."""
    named = "watts" if lamps.by_watts else "ppf_umol_s"
    slips = [(10.0, f"{named} is ten times too small"), (0.1, f"{named} is ten times too large")]
    if not lamps.by_watts and len(lamps.photons) == 1:
        lamp = lamps.photons[0].lamp
        slips.append((lamp.efficacy_umol_j, "ppf_umol_s holds watts, not µmol/s"))
        if lamp.lux_per_umol:
            slips.append((1 / lamp.lux_per_umol, "ppf_umol_s holds lumens, not µmol/s"))
    for wrong, words in slips:
        cause = _direct("slip", ratio / wrong, f"a slip: {words}")._replace(rarity=RARE)
        if cause.off <= CLOSE:
            yield cause


def _too_dim(lamps: LampLight, ratio: float) -> Iterator[Cause]:
    output = lamps.fixtures[0].output
    was = f", not {output:.0%}" if output < 1 else ""
    yield _direct("output", ratio, f"output: the lamp is turned down to {output * ratio:.0%}{was}")
    yield _direct("meter", ratio, "the meter: held askew, in a shadow, or below the leaves")
    if ratio >= AGED:
        words = f"age and dust: {1 - ratio:.0%} of the light lost; a few to 20% is usual"
        yield _direct("age", ratio, words)


def _too_bright(lamps: LampLight, ratio: float) -> Iterator[Cause]:
    output = lamps.fixtures[0].output
    if output * ratio <= 1 and not lamps.by_watts:
        yield _direct("output", ratio, f"output: the lamp runs at {output * ratio:.0%}, not {output:.0%}")
    yield _direct("other light", ratio, "other light in the readings: the sun, the room, a second lamp")


def _solve(mean: Callable[[float], float], wanted: float, low: float, high: float) -> float | None:
    """Return where a monotonic mean takes the wanted value, None if nowhere between the bounds."""
    below, above = mean(low) - wanted, mean(high) - wanted
    if high <= low or below * above > 0:
        return None
    for _ in range(30):
        middle = (low + high) / 2
        if (mean(middle) - wanted) * below > 0:
            low = middle
        else:
            high = middle
    return (low + high) / 2

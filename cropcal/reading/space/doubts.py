"""Values that can be meant but are most often slips: asked about, not refused.

To add one, write a function from a draft to its doubts and add its name to ``DOUBTS``.
"""

from collections.abc import Callable, Iterator
from typing import Final

from cropcal.problems import Problem
from cropcal.reading.space.checks import crowding as check_crowding
from cropcal.reading.space.checks import efficacy as check_efficacy
from cropcal.reading.space.checks import tariff as check_tariff
from cropcal.reading.space.draft import Draft

DOUBTS: Final[tuple[Callable[[Draft], Iterator[Problem]], ...]] = (
    check_crowding.many_sites,
    check_crowding.close_sites,
    check_efficacy.much_light_for_its_watts,
    check_tariff.price_in_cents,
)


def doubts(draft: Draft) -> list[Problem]:
    """Return everything that is to be asked about a draft without problems."""
    return [problem for one in DOUBTS for problem in one(draft)]

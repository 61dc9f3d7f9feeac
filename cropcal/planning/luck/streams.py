"""Luck that batches share: the grower's pace, each crop's, its emergence, the light of each zone."""

from dataclasses import dataclass, field

import numpy as np

from cropcal.planning.growth.pace import Pace
from cropcal.science import chance
from cropcal.seasons.luck import LUCKLESS
from cropcal.seasons.world import FloatArray


@dataclass(eq=False)
class RandomStreams:
    """Standard normal numbers, one a drawn season; each source of luck is drawn once, by its name."""

    seasons: int
    seed: int
    normals: dict[tuple[str, str], FloatArray] = field(default_factory=dict)

    def normal(self, what: str, name: str = "") -> FloatArray:
        """Return the numbers of one source of luck, (seasons,)."""
        if (what, name) not in self.normals:
            own = chance.random_stream(self.seed, what, name)
            drawn = np.zeros(self.seasons) if self.seed == LUCKLESS else own.standard_normal(self.seasons)
            self.normals[what, name] = drawn
        return self.normals[what, name]

    def shifts(
        self, crop: str, zone: str, pace: Pace, sd_light: float
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return the shifts of ln speed, ln light and ln days to emergence of a crop in a zone.

        All crops of a grower share part of how fast they grow, all batches of a crop the rest of it and how
        soon it emerges, all beds under a lamp the error of its light.
        """
        shared = min(pace.shared_ln_speed, pace.sd_ln_speed)
        own = np.sqrt(pace.sd_ln_speed**2 - shared**2)
        speed = shared * self.normal("grower") + own * self.normal("speed", crop)
        light = sd_light if pace.sd_ln_light is None else pace.sd_ln_light
        emerges = pace.sd_ln_emergence * self.normal("emergence", crop)
        return speed, light * self.normal("light", zone), emerges

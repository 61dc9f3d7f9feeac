"""How far growth, harvest days and learning are off in six rooms of real growers that nothing was tuned to.

``python tests/studies/six_rooms.py`` prints three tables:

law
    Dry mass of each weighing after the first, by light, air and spacing of each day; the one level that the
    rooms need (eps) is that of the other five. Beside it two plain rules on the same footing: "mass by light
    so far" (mean mass of the others on that day, times light so far over theirs) and "fixed days" (mean mass
    of the others on that day).
cold
    The forecast of a grower with these rooms and no journal: butterhead row, home speed, start as weighed;
    fresh mass of all weighings, and days between forecast and true day of the last weighing's mass.
learned
    The same day after 1, 2 and 3 weighings were learned from, as `cropcal learned` does: one step of its
    filter for each, by the fresh mass that a kitchen scale shows. Beside it "fixed days": the mean of the
    other rooms.
"""

import csv
import sys
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np

from cropcal.planning.growth.crop_constants import eps as eps_of
from cropcal.planning.growth.crop_constants import home_ln_speed
from cropcal.reading.crops.read import read_crop_tables
from cropcal.science import growth, learning

REFERENCE = Path(__file__).resolve().parents[1] / "reference"
CROP = "lettuce-butterhead"
LEVELS = np.exp(np.arange(-0.6, 0.3, 0.01))
LONGEST_D = 80
"""Days for which a forecast goes on, with the last room-day's conditions repeated."""
STEP = 0.01


class Room(NamedTuple):
    """One room: days from its first weighing, conditions of each day (1, D), and what was weighed (n,)."""

    name: str
    light: np.ndarray
    hours: np.ndarray
    air: np.ndarray
    density: np.ndarray
    day: np.ndarray
    dry_g: np.ndarray
    fresh_g: np.ndarray

    @property
    def crop(self):
        """Return the crop of the table that stands for it."""
        return read_crop_tables(None)[0].crops[CROP]

    def mass_g(self, eps: float, days: np.ndarray) -> np.ndarray:
        """Return dry g a plant on some days after the first weighing."""
        crop = self.crop
        warm = growth.temperature_factor(self.air, crop.air_base_c, crop.air_optimum_c, crop.air_max_c)
        c, k = growth.rates(eps, growth.capped_dli(self.light, False), self.hours, warm)
        ends = np.arange(1.0, self.light.shape[1] + 1)[None, :]
        return growth.mass_by_day(days, [0.0], self.dry_g[:1], ends, self.density, c, k)[0]

    def fresh_at(self, eps: float, days: np.ndarray) -> np.ndarray:
        """Return fresh g a plant on some days, as the crop table has dry matter."""
        return self.mass_g(eps, days) / self.crop.dry_matter

    def day_of(self, eps: float, fresh_g: float) -> float:
        """Return the day on which a plant has a fresh mass."""
        days = np.arange(0.0, LONGEST_D, 0.05)
        return float(np.interp(fresh_g, self.fresh_at(eps, days), days))

    def light_so_far(self, days: np.ndarray) -> np.ndarray:
        """Return mol of light from the first weighing to some days."""
        return np.interp(
            days, np.arange(self.light.shape[1] + 1), np.concatenate([[0], self.light[0].cumsum()])
        )


def rows(name: str) -> list[dict[str, str]]:
    """Read a table of tests/reference, without its comment lines."""
    lines = (REFERENCE / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


@cache
def six_rooms() -> list[Room]:
    """Return the rooms by name."""
    weighings, days = rows("six_rooms_mass.csv"), rows("six_rooms_days.csv")
    return [
        _room(
            name,
            [w for w in weighings if w["room"] == name and w["dry_g"]],
            [d for d in days if d["room"] == name],
        )
        for name in sorted({w["room"] for w in weighings})
    ]


def _room(name: str, weighings: list[dict[str, str]], days: list[dict[str, str]]) -> Room:
    on = [date.fromisoformat(w["date"]) for w in weighings]
    by_date = {date.fromisoformat(d["date"]): d for d in days}
    columns = ("dli_mol_m2_d", "light_h", "air_c", "plants_m2")
    table: list[list[float]] = []
    for after in range((on[-1] - on[0]).days):
        # a day that was not logged is taken to be as the one before
        noted = by_date.get(on[0] + timedelta(days=after), {})
        table.append(
            [float(noted.get(c) or (table[-1][at] if table else "nan")) for at, c in enumerate(columns)]
        )
    return Room(
        name,
        *(values[None, :] for values in np.array(table).T),
        np.array([(day - on[0]).days for day in on], float),
        np.array([float(w["dry_g"]) for w in weighings]),
        np.array([float(w["fresh_g"]) for w in weighings]),
    )


def errors(room: Room, eps: float) -> np.ndarray:
    """Return ln forecast - ln weighed of the dry mass of each later weighing."""
    return np.log(room.mass_g(eps, room.day[1:]) / room.dry_g[1:])


def level(rooms: list[Room]) -> float:
    """Return the eps of least mean squared error, every room of equal weight."""
    loss = np.mean([_loss_by_level(room.name) for room in rooms], axis=0)
    return float(LEVELS[int(np.argmin(loss))])


@cache
def _loss_by_level(name: str) -> np.ndarray:
    room = next(room for room in six_rooms() if room.name == name)
    return np.array([np.mean(errors(room, eps) ** 2) for eps in LEVELS])


def rms(values: list[np.ndarray]) -> float:
    """Return the root of the mean square."""
    return float(np.sqrt(np.mean(np.concatenate(values) ** 2)))


def by_law(rooms: list[Room]) -> list[np.ndarray]:
    """Return the errors of each room with the level of the others."""
    return [errors(room, level([other for other in rooms if other is not room])) for room in rooms]


def by_rule(rooms: list[Room], *, light: bool) -> list[np.ndarray]:
    """Return the errors of each room by a plain rule: the others' mean mass that day, by light or not."""
    found = []
    for room in rooms:
        others = [other for other in rooms if other is not room]
        days = room.day[1:]
        ln = [np.interp(days, other.day, np.log(other.dry_g)) for other in others]
        if light:
            ln = [
                each + np.log(room.light_so_far(days) / other.light_so_far(days))
                for each, other in zip(ln, others, strict=True)
            ]
        found.append(np.mean(ln, axis=0) - np.log(room.dry_g[1:]))
    return found


def cold_eps() -> float:
    """Return the growth number that a grower without a journal is forecast by."""
    tables, _ = read_crop_tables(None)
    return float(eps_of(tables.crops[CROP], tables) * np.exp(home_ln_speed(tables.crops[CROP])))


def cold_fresh(rooms: list[Room]) -> list[np.ndarray]:
    """Return ln forecast - ln weighed of the fresh mass, without a journal."""
    eps = cold_eps()
    return [np.log(room.fresh_at(eps, room.day[1:]) / room.fresh_g[1:]) for room in rooms]


def dry_day_errors(rooms: list[Room]) -> np.ndarray:
    """Return forecast - true day of the last weighing's dry mass, without a journal."""
    days = np.arange(0.0, LONGEST_D, 0.05)
    found = [np.interp(room.dry_g[-1], room.mass_g(cold_eps(), days), days) for room in rooms]
    return np.array(found) - [room.day[-1] for room in rooms]


def day_errors(rooms: list[Room], weighings: int) -> np.ndarray:
    """Return forecast - true day of the last weighing's fresh mass, after learning from some weighings."""
    found = []
    for room in rooms:
        sd = float(np.hypot(growth.GROWER_SD, growth.CROP_SD))
        belief = learning.prior([0.0], [sd])
        for at in range(1, weighings + 1):
            eps = cold_eps() * np.exp(belief.mean[0])
            ln = np.log([room.fresh_at(eps * np.exp(step), room.day[[at]])[0] for step in (-STEP, 0.0, STEP)])
            surprise, slope = np.log(room.fresh_g[at]) - ln[1], (ln[2] - ln[0]) / (2 * STEP)
            belief = learning.updated(belief, [slope], float(surprise), learning.HARVEST_SD)
        eps = cold_eps() * float(np.exp(belief.mean[0]))
        found.append(room.day_of(eps, room.fresh_g[-1]) - room.day[-1])
    return np.array(found)


def fixed_day_errors(rooms: list[Room]) -> np.ndarray:
    """Return the error of "as many days as the others took", to each room's last mass."""
    found = []
    for room in rooms:
        taken = [
            np.interp(np.log(room.fresh_g[-1]), np.log(other.fresh_g), other.day)
            for other in rooms
            if other is not room
        ]
        found.append(float(np.mean(taken)) - room.day[-1])
    return np.array(found)


def main() -> None:
    """Print the tables."""
    rooms = six_rooms()
    out = sys.stdout.write
    out("law, dry mass, level from the other five rooms (rms of ln)\n")
    out(f"  growth law            {rms(by_law(rooms)):.1%}\n")
    out(f"  mass by light so far  {rms(by_rule(rooms, light=True)):.1%}\n")
    out(f"  fixed days            {rms(by_rule(rooms, light=False)):.1%}\n")
    own = np.log([level([room]) for room in rooms])
    tables, _ = read_crop_tables(None)
    book = np.log(eps_of(tables.crops[CROP], tables))
    out(f"  speed of the rooms against the book: exp({np.mean(own - book):+.2f}), ")
    around = rms([errors(room, level([room])) for room in rooms])
    out(f"sd {np.std(own, ddof=1):.2f}; around their own level {around:.1%}\n")
    fresh = np.concatenate(cold_fresh(rooms))
    out(f"cold, fresh mass: mean {np.mean(fresh):+.0%}, rms {np.sqrt(np.mean(fresh**2)):.0%}\n")
    dry = dry_day_errors(rooms)
    out(
        f"cold, day of the last dry mass: {np.mean(np.abs(dry)):.1f} d off, {np.mean(dry):+.1f} in the mean\n"
    )
    out("day of the last fresh mass, error in days, 30 to 41 days from the first weighing\n")
    out(f"  fixed days         {np.mean(np.abs(fixed_day_errors(rooms))):.1f}\n")
    for weighings in range(4):
        errs = day_errors(rooms, weighings)
        each = " ".join(f"{e:+.1f}" for e in errs)
        out(f"  after {weighings} weighings  {np.mean(np.abs(errs)):.1f} ({np.mean(errs):+.1f}): {each}\n")


if __name__ == "__main__":
    main()

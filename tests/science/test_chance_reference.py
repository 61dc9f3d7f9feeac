"""The chance of each week of whole plans against a simulation that shares no code with it.

The reference reads a plan as a grower does: what was sown when, on which sites, to be cut when. It lives
through 100,000 seasons of it in plain loops over batches, visits and weeks; plants grow by Runge and Kutta's
steps of dW/dt = C (1 - exp(-kW)). Of the library it takes two numbers of a crop, its days to emergence and
its C, and of the plan what a cut brings if all goes as it should.
"""

from collections import Counter

import numpy as np
import pytest
from depth import few_of

from cropcal.planning.growth.crop_constants import days_to_emerge, eps
from cropcal.planning.planner import plan

TRIES = 100_000
SPACE = """
[place]
name = "Ropewalk"
timezone = "Europe/Lisbon"
[[zone]]
name = "bay"
length_m = 1.6
width_m = 0.6
photoperiod_h = 16
air_c = 22
air_moving = true
[[bed]]
name = "trough"
zone = "bay"
{kind}
length_m = 1.0
width_m = 0.5
[[bed]]
name = "plugs"
zone = "bay"
kind = "nursery"
sites = 60
length_m = 0.4
width_m = 0.3
[[fixture]]
zone = "bay"
watts = 150
watts_from = "meter"
lamp_to_canopy_m = 0.3
[[reading]]
bed = "trough"
umol_m2_s = [[230]]
read_with = "meter"
[[reading]]
bed = "plugs"
umol_m2_s = [[200]]
read_with = "meter"
[plan]
start = 2027-02-01
weeks = {weeks}
work_days = ["mon", "thu"]
[[want]]
crops = ["{crop}"]
{want}
"""
SITES = "sites = 20"
TRAY = 'kind = "tray"'
GROWER, CROP, UP, BATCH, PLANT = 0.20, 0.20, 0.25, 0.20, np.sqrt(np.log(1.04))
"""Spreads of ln: speed of growers, of crops; days to emergence; mass of batches, of plants."""
HOME, BEST_ROOM, LOST, LEAST, LOOKS_D = -0.10, 0.20, 0.02, 0.75, 14
"""ln of a home grower's speed; share lost; lightest that counts; days before its day a batch is looked at."""


def after(mass, days, c, k, per_m2):
    """Return the dry mass of a plant after some days [g]."""
    steps = 10
    dt, w = days / steps, mass * per_m2
    for _ in range(steps):
        one = c * -np.expm1(-k * w)
        two = c * -np.expm1(-k * (w + dt / 2 * one))
        three = c * -np.expm1(-k * (w + dt / 2 * two))
        four = c * -np.expm1(-k * (w + dt * three))
        w = w + dt / 6 * (one + 2 * two + 2 * three + four)
    return w / per_m2


class Seasons:
    """A number of seasons of one plan of one crop. Factors that all batches share are drawn once."""

    def __init__(self, made, space, crop, tables, tries, seed):
        self.made, self.space, self.crop, self.tries = made, space, crop, tries
        self.rng = np.random.default_rng(seed)
        self.speed = self.rng.normal(0, GROWER, tries) + self.rng.normal(0, CROP, tries)
        self.up = days_to_emerge(crop, tables, 22.0) * np.exp(self.rng.normal(0, UP, tries))
        self.eps = eps(crop, tables) * np.exp(HOME - BEST_ROOM * (crop.anchor_co2 == "enriched"))
        self.lag = crop.young_lag_d or 0.0
        lights = {light.bed: light for light in made.lights}
        self.mol = {bed: 0.0036 * 16 * light.ppfd_umol_m2_s for bed, light in lights.items()}
        self.bright = self.rng.normal(0, lights["trough"].sd_ln, tries)
        self.usual = (np.zeros(1), np.full(1, days_to_emerge(crop, tables, 22.0)), np.zeros(1))
        self.tray = crop.kind == "tray"
        self.plants = crop.anchor_plants_m2 * 0.5 if self.tray else crop.plants_per_site
        self.site_m2 = 0.5 / space.bed("trough").site_count
        self.good_d = 0 if space.wants[0].on is not None else crop.keeping_d or 0

    def grams(self, moved, cuts, luck, each=1):
        """Return fresh g a plant on the last of some days of cutting, moved some days after sowing."""
        speed, up, bright = luck
        crop = self.crop
        dense = max(self.plants / (self.site_m2 * each), crop.anchor_plants_m2 / 1.36)
        mass, at = np.full(len(speed), crop.seed_g_per_1000 / 1000 * 0.7), np.zeros(len(speed))
        for number, day in enumerate(cuts):
            if number:
                mass, at = (
                    mass * crop.cut_leaves_share,
                    np.full(len(speed), float(cuts[number - 1] + crop.cut_lag_d)),
                )
            for bed, begin, end, per_m2 in (
                ("plugs", 0, moved, 60 / 0.12 * crop.plants_per_site),
                ("trough", moved, day, dense),
            ):
                book = min(self.mol[bed], 20.0)
                mol = np.minimum(self.mol[bed] * np.exp(bright), 20.0)
                start = np.maximum(np.maximum(begin, up + self.lag), at)
                slow = np.exp(speed) * min(self.eps, 1.23 * (book / 17) ** 0.30)
                c, k = 17 * slow * (mol / 17) ** 0.70, 0.028 * (mol / 17) ** -0.35
                mass = after(mass, np.maximum(end - start, 0.0), c, k, per_m2)
        return np.where(up < cuts[-1], mass, 1e-12) / crop.dry_matter

    def week(self, day):
        """Return which week a cut on a day is for, None if for none."""
        want = self.space.wants[0]
        if want.on is None:
            return day // 7 if 0 <= day < 7 * self.made.weeks else None
        visits = [(on - self.made.start).days for on in self.made.work_days]
        for feast in ((on - self.made.start).days for on in want.on):
            nearest = max(visit for visit in visits if visit <= feast)
            if min(feast - self.crop.keeping_d, nearest) <= day <= feast:
                return feast // 7
        return None

    def keeps(self, batch, cuts):
        """Return the weeks after that of its planned day for which a cut is good."""
        day = (batch.sow_on - self.made.start).days + cuts[-1]
        return min((day + self.good_d) // 7 - day // 7, 2)

    def looks(self, sown, moved, cuts, each):
        """Return (week, day) of each visit on which what is cut once may be cut: the last of each week."""
        day, window = cuts[0], self.crop.window_d
        until = day + window
        if self.crop.unit == "g":
            ready = next(
                d
                for d in range(200)
                if self.grams(moved, (d,), self.usual, each)[0] >= self.crop.anchor_g_per_plant
            )
            until = max(day, ready + window)
        found = {self.week(sown + day): day}
        for on in self.made.work_days:
            visit = (on - self.made.start).days - sown
            if max(day - LOOKS_D, moved + 1) <= visit <= until and self.week(sown + visit) is not None:
                week = self.week(sown + visit)
                found[week] = max(found.get(week, visit), visit)
        return sorted(found.items())

    def food(self):
        """Return what comes when: planned week, batch, first and last week, amounts, growth by week."""
        found = []
        for batch in self.made.batches:
            own = np.exp(self.rng.normal(0, BATCH, self.tries))
            chains = Counter(use.cuts for use in self.made.sites if use.batch == batch.id and use.planted)
            stood = self.heads_stood(batch, sum(chains.values())) if self.crop.unit == "heads" else None
            for chain, sites in sorted(chains.items()):
                if stood is None:
                    found += self.leaves(batch, chain, sites, own)
                else:
                    found += self.heads(batch, chain, np.minimum(stood, sites), own)
                    stood = stood - np.minimum(stood, sites)
        return sorted(found, key=lambda row: (row[0], row[1]))

    def heads_stood(self, batch, sites):
        """Return how many plants stand on the sites of a batch and are not lost."""
        up = 1 - (1 - STAND[self.crop.slug]) ** self.crop.seeds_per_plant
        stood = np.minimum((self.rng.random((self.tries, batch.cells)) < up).sum(axis=1), sites)
        return sum(
            ((stood > one) & (self.rng.random(self.tries) >= LOST)).astype(int) for one in range(sites)
        )

    def visits(self, batch, cuts, own, *, once):
        """Return the planned week, and (week, day) with the g of a plant, of each visit that may cut."""
        sown = (batch.sow_on - self.made.start).days
        moved = (batch.transplant_on - batch.sow_on).days if batch.transplant_on else 0
        planned = self.week(sown + cuts[-1])
        each = batch.sites_each
        looks = self.looks(sown, moved, cuts, each) if once else [(planned, cuts[-1])]
        luck = (self.speed, self.up, self.bright)
        grams = [own * self.grams(moved, (*cuts[:-1], day), luck, each) for _, day in looks]
        return planned, [week for week, _ in looks], grams, self.grams(moved, cuts, self.usual, each)[0]

    def heads(self, batch, chain, here, own):
        """Return the heads of one day of cutting: each is ready when a visit finds it big enough."""
        crop, found = self.crop, []
        cuts = tuple((day - batch.sow_on).days for day in chain)
        planned, weeks, grams, _ = self.visits(batch, cuts, own, once=True)
        for plant in range(int(here.max())):
            differ, waits = np.exp(self.rng.normal(0, PLANT, self.tries)), here > plant
            for week, mass in zip(weeks, grams, strict=True):
                ready = waits & (mass * differ >= LEAST * crop.anchor_g_per_plant)
                waits &= ~ready
                keeps = self.keeps(batch, cuts)
                last = max(planned, min(week + crop.window_d // 7, weeks[-1])) + keeps
                found.append([planned, (keeps, batch.id), week, last, ready.astype(float), {}])
        return found

    def leaves(self, batch, chain, sites, own):
        """Return the grams of sites cut on the same days: once heavy enough, at the latest in their week."""
        crop, found = self.crop, []
        days = tuple((day - batch.sow_on).days for day in chain)
        for number in range(len(days)):
            planned, weeks, grams, usual = self.visits(batch, days[: number + 1], own, once=len(days) == 1)
            plants = round(self.plants * (1 if self.tray else sites))
            told = next(one for one in batch.harvests if (one.on, one.cut) == (chain[number], number + 1))
            each = told.amount / told.sites * sites / plants / usual * self.plants_cut(plants)
            waits = np.ones(self.tries, dtype=bool)
            for at, (week, mass) in enumerate(zip(weeks, grams, strict=True)):
                now = waits & ((mass >= LEAST * crop.anchor_g_per_plant) | (week >= planned))
                waits &= ~now
                rises = {
                    weeks[later]: grams[later] / np.maximum(grams[later - 1], 1e-9)
                    for later in range(at + 1, len(weeks))
                }
                keeps = self.keeps(batch, days[: number + 1])
                last = max(planned, weeks[-1]) + keeps
                found.append([planned, (keeps, batch.id), week, last, np.where(now, each * mass, 0.0), rises])
        return found

    def plants_cut(self, plants):
        """Return sown plants as a number of mean plants: those up, not lost, each of its own size."""
        rng, tries, stand = self.rng, self.tries, STAND[self.crop.slug]
        if self.tray:  # so much is sown that as many come up as are counted on
            come = rng.binomial(round(plants / stand), stand * (1 - LOST), tries)
            return come * np.exp(rng.normal(0, PLANT / np.sqrt(plants), tries))
        up = 1 - (1 - stand) ** self.crop.seeds_per_plant
        come = (rng.random((tries, plants)) < up) & (rng.random((tries, plants)) >= LOST)
        return (come * np.exp(rng.normal(-(PLANT**2) / 2, PLANT, (tries, plants)))).sum(axis=1)

    def met(self):
        """Return the share of seasons in which each week gets what it wants, the oldest eaten first."""
        food, shares = self.food(), []
        for number, row in enumerate(self.made.supply):
            lacks = np.full(self.tries, float(row.wanted))
            for one in food:
                if one[2] < number and number in one[5]:
                    one[4] = one[4] * one[5][number]
                if one[2] <= number <= one[3]:
                    eaten = np.minimum(one[4], lacks)
                    one[4], lacks = one[4] - eaten, lacks - eaten
            shares.append(float(np.mean(lacks <= 1e-9 * row.wanted)))
        return shares


STAND = {"lettuce-butterhead": 0.80, "basil": 0.70, "dill": 0.60, "lettuce-baby": 0.80}
"""Least germination of certified seed (7 CFR 201.31)."""


@pytest.mark.parametrize(
    ("crop", "want", "kind", "weeks"),
    few_of(
        [
            ("basil", "per_week = 60", SITES, 12),
            ("lettuce-butterhead", "per_week = 2", SITES, 11),
            ("dill", "per_week = 40", SITES, 12),
            ("lettuce-baby", 'per_week = 6\nunit = "bowls"\nbowl_g = 50', TRAY, 9),
            ("lettuce-butterhead", "on = [2027-04-18, 2027-05-02]\namount = 4", SITES, 14),
        ],
        2,
    ),
)
def test_every_week_is_as_likely_as_in_a_hundred_thousand_seasons(crop, want, kind, weeks, read_text, tables):
    """Grams cut once and again, bowls of a tray, a feast, heads that keep: within 3.5 standard errors.

    The draws of a grower are the same in each plan, so the weeks of one plan err to the same side.
    """
    space = read_text(SPACE.format(crop=crop, want=want, kind=kind, weeks=weeks))
    made = plan(space, tables)
    reference = Seasons(made, space, tables.crops[crop], tables, TRIES, 11).met()
    rows = [
        (row.chance, share)
        for row, share in zip(made.supply, reference, strict=True)
        if row.chance is not None
    ]
    assert any(0.1 < share < 0.95 for _, share in rows)
    for chance, share in rows:
        error = 3.5 * np.sqrt(max(share * (1 - share), 1e-4) * (1 / 10_000 + 1 / TRIES))
        assert chance == pytest.approx(share, abs=error)

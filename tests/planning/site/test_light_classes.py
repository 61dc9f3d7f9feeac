"""Dim corners and bright middles are planned as what they are."""

import pytest

from cropcal.planning.candidates.eligible import capacity, eligible_options
from cropcal.planning.power.bill import ZoneDay
from cropcal.planning.site.bed_light import bed_lights, light_of_sites, site_groups
from cropcal.records.plan import BedLight

UNEVEN = """
[[zone]]
name = "z"
length_m = 1.0
width_m = 0.5
photoperiod_h = 16
air_moving = true

[[bed]]
name = "b"
zone = "z"
rows = 1
columns = 4
length_m = 0.8
width_m = 0.3

[[reading]]
bed = "b"
umol_m2_s = [[60, 200, 210, 300]]

[[fixture]]
zone = "z"
watts = 80

[[want]]
crops = ["lettuce-looseleaf"]
"""


def light_of(*ppfd):
    return BedLight(
        bed="b", zone="z", source="readings", how="", sd_ln=0.05, photoperiod_h=16.0, site_ppfd_umol_m2_s=ppfd
    )


def test_even_light_is_one_class():
    """A bed whose brightest site has a quarter more light than its dimmest is grown as one."""
    assert site_groups(light_of(200.0, 240.0, 250.0, 210.0)) == ((1, 2, 3, 4),)


def test_uneven_light_is_split_dimmest_first():
    """100 to 200 umol are three steps of a factor 1.26: 100-126, 126-159, 159-200."""
    assert site_groups(light_of(100.0, 200.0, 130.0, 125.0)) == ((1, 4), (3,), (2,))


def test_a_dark_site_does_not_break_anything():
    """A site without light has no place on a logarithmic scale: the bed stays whole."""
    assert site_groups(light_of(0.0, 200.0)) == ((1, 2),)


def test_every_site_is_in_exactly_one_class():
    """No site is lost or doubled, however the light falls."""
    groups = site_groups(light_of(*(float(50 + 7 * number % 311) for number in range(40))))
    assert sorted(site for group in groups for site in group) == list(range(1, 41))
    assert len(groups) <= 3


def test_the_light_of_some_sites_is_theirs_alone():
    """The mean of a class is that of its own sites."""
    assert light_of_sites(light_of(100.0, 200.0, 300.0), (2, 3)).ppfd_umol_m2_s == pytest.approx(250.0)


def test_a_crop_is_kept_out_of_the_dim_sites_only(read_text, tables):
    """At 50 umol (2.9 mol) lettuce is not worth sowing; beside it it is, at two paces."""
    space = read_text(UNEVEN.replace("[[60,", "[[50,"))
    land = capacity(space, bed_lights(space, tables), {"z": ZoneDay(1.28, None)})
    assert [place.sites for place in land.places] == [(1,), (2, 3, 4)] or len(land.places) == 3
    found = eligible_options(space, tables, land)
    grown_at = {site for offer in found for site in land.places[offer.place].sites}
    assert grown_at == {2, 3, 4}
    assert len({float(offer.grown.ready_d[1, 0]) for offer in found}) == len(found)

"""Plants of which a share is lost already when drawn seasons begin."""

import numpy as np
import pytest

from cropcal.seasons.luck import LUCKLESS, RowLuck, after_a_loss


class Pots:
    """What of a kind counts here."""

    thick = False


class Trays:
    """The same of trays."""

    thick = True


def luck(cells=40, seasons=200):
    ones = np.ones((cells, seasons), np.float32)
    return RowLuck(ones, ones, 2 * ones)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_as_many_sites_are_lost_as_was_said(share):
    alive = after_a_loss(luck(), Pots, "0104a", share, seed=3).alive
    assert set(np.unique(alive)) == {0.0, 1.0}
    assert alive.mean() == pytest.approx(1 - share, abs=0.02)


def test_of_a_tray_that_share_is_lost():
    assert np.allclose(after_a_loss(luck(), Trays, "0104a", 0.3, seed=3).alive, 0.7)


def test_nothing_is_lost_without_a_share_or_without_luck():
    its = luck()
    assert after_a_loss(its, Pots, "0104a", 0.0, seed=3) is its
    assert after_a_loss(its, Pots, "0104a", 0.4, seed=LUCKLESS) is its


def test_a_greater_share_loses_the_same_and_more():
    less, more = (after_a_loss(luck(), Pots, "0104a", share, seed=3).alive for share in (0.2, 0.4))
    assert (more <= less).all()


def test_the_loss_of_a_cell_does_not_depend_on_how_a_batch_is_split():
    whole = after_a_loss(luck(6), Pots, "0104a", 0.4, seed=3).alive
    part = after_a_loss(luck(2), Pots, "0104a", 0.4, first=4, seed=3).alive
    assert (whole[4:] == part).all()

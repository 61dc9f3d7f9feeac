"""What light by way of the walls costs, as multiples of the light that comes straight.

``python tests/benchmarks/bench_walls.py`` prints a table. It asserts nothing: cost is looked at only.
"""

from collections.abc import Callable
from time import perf_counter

import numpy as np

from cropcal.science.geometry import panel_ppfd
from cropcal.science.walls import walled_ppfd

FLOOR = (2.0, 1.0)
LAMPS = [[0.5 * i, 0.1] for i in range(4)], 4 * [[0.4, 0.8]]
REFLECTANCES = (0.3, 0.6, 0.9, 0.95, 0.98, 1.0)
ROUNDS = 3


def seconds(run: Callable[[], object]) -> float:
    """Return the shortest time of a few runs, the first left out."""
    times = []
    for _ in range(ROUNDS + 1):
        began = perf_counter()
        run()
        times.append(perf_counter() - began)
    return min(times[1:])


def grid(places: int) -> np.ndarray:
    """Return places × places points at the centres of equal cells of the floor."""
    side = (np.arange(places) + 0.5) / places
    return np.stack(np.meshgrid(*(side * length for length in FLOOR)), axis=-1).reshape(-1, 2)


def main() -> None:
    """Print, for 4 lamps over 2 × 1 m, the time straight and its multiples by reflectance."""
    print("| distance m | points | straight ms | " + " | ".join(f"walls {r:g}" for r in REFLECTANCES) + " |")
    print("| ---: " * (3 + len(REFLECTANCES)) + "|")
    for distance in (0.1, 0.5, 2.0):
        for places in (5, 20, 100):
            points = grid(places)
            straight = seconds(lambda p=points, d=distance: panel_ppfd(p, *LAMPS, d, 100))
            multiples = [
                seconds(lambda p=points, d=distance, w=r: walled_ppfd(p, *LAMPS, d, 100, FLOOR, 4 * (w,)))
                / straight
                for r in REFLECTANCES
            ]
            cells = " | ".join(f"{multiple:.0f} ×" for multiple in multiples)
            print(f"| {distance:g} | {places**2} | {1000 * straight:.2f} | {cells} |")


if __name__ == "__main__":
    main()

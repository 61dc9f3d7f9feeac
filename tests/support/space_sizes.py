"""Spaces of 6, 28, 80 and 200 sites whose pages and calendars are drawn. All places are invented."""

from collections.abc import Sequence


def _zone(
    name: str,
    beds: Sequence[tuple[str, str, int, int]],
    *,
    watts: int,
    hours: int = 16,
    air_c: int = 21,
) -> str:
    """Return a zone with a lamp, its beds (name, kind, rows, columns) one behind the other."""
    pitch = {"sites": 0.17, "tray": 0.22, "nursery": 0.06}
    sizes = [(columns * pitch[kind], rows * pitch[kind]) for _, kind, rows, columns in beds]
    length, width = max(size[0] for size in sizes) + 0.1, sum(size[1] + 0.05 for size in sizes) + 0.05
    lines = [
        f'[[zone]]\nname = "{name}"\nlength_m = {length:.2f}\nwidth_m = {width:.2f}',
        f"photoperiod_h = {hours}\nair_c = {air_c}\nair_moving = true\nwall_reflectance = 0.7",
        f'[[fixture]]\nzone = "{name}"\nlamp = "white LED"\nwatts = {watts}\nlamp_to_canopy_m = 0.4\n'
        f"length_m = {0.8 * length:.2f}\nwidth_m = {0.4 * width:.2f}\n"
        f"x_m = {0.1 * length:.2f}\ny_m = {0.3 * width:.2f}",
    ]
    at = 0.05
    for (bed, kind, rows, columns), (long, wide) in zip(beds, sizes, strict=True):
        lines.append(
            f'[[bed]]\nname = "{bed}"\nzone = "{name}"\nkind = "{kind}"\nrows = {rows}\ncolumns = {columns}\n'
            f"x_m = 0.05\ny_m = {at:.2f}\nlength_m = {long:.2f}\nwidth_m = {wide:.2f}"
        )
        at += wide + 0.05
    return "\n".join(lines)


def _space(place: str, zones: Sequence[str], wants: Sequence[str], weeks: int, more: str = "") -> str:
    return "\n".join(
        [
            f'[place]\nname = "{place}"\ntimezone = "Europe/Madrid"',
            *zones,
            '[tariff]\ncurrency = "EUR"\n[[tariff.rate]]\nper_kwh = 0.24',
            f"[plan]\nstart = 2027-01-04\nweeks = {weeks}\n{more}",
            *(f"[[want]]\n{want}" for want in wants),
        ]
    )


def _heads(crop: str, per_week: float) -> str:
    return f'crops = ["{crop}"]\nper_week = {per_week:g}\nunit = "heads"'


def _grams(crop: str, per_week: float) -> str:
    return f'crops = ["{crop}"]\nper_week = {per_week:g}\nunit = "g"'


MANY = (
    "lettuce-butterhead", "lettuce-romaine", "lettuce-looseleaf", "lettuce-batavia", "lettuce-red-leaf",
    "pak-choi", "tatsoi",
)  # fmt: skip
LEAVES = (
    "basil", "parsley", "chard", "kale", "watercress", "cilantro", "dill", "mint", "sorrel", "chives",
    "green-onion", "arugula-baby", "kale-baby", "lettuce-baby", "mizuna-baby", "mustard-baby",
    "pak-choi-baby", "spinach-baby", "mesclun", "microgreens-brassica", "pea-shoots", "sunflower-shoots",
    "radish",
)  # fmt: skip

SIZES = {
    6: _space(
        "Fern Street kitchen sill",
        [_zone("sill", [("six pots", "sites", 1, 6)], watts=40)],
        [_heads("lettuce-looseleaf", 1)],
        16,
    ),
    28: _space(
        "The back of the hall",
        [
            _zone(
                "hall shelf",
                [("upper gutter", "sites", 2, 7), ("lower gutter", "sites", 2, 7), ("cups", "nursery", 2, 9)],
                watts=190,
            )
        ],
        [_heads("lettuce-butterhead", 2), _heads("pak-choi", 1), _grams("basil", 60)],
        20,
    ),
    80: _space(
        "Larkmoor primary school",
        [
            _zone(
                "science room",
                [("window rack", "sites", 3, 10), ("plug tray", "nursery", 4, 15)],
                watts=260,
            ),
            _zone("library corner", [("long tub", "sites", 3, 8), ("side tub", "sites", 2, 8)], watts=280),
            _zone("canteen wall", [("leaf trays", "tray", 2, 5)], watts=90, hours=14),
        ],
        [
            _heads("lettuce-butterhead", 5),
            _heads("lettuce-romaine", 3),
            _heads("pak-choi", 2),
            _grams("basil", 120),
            _grams("lettuce-baby", 300),
            _grams("pea-shoots", 200),
        ],
        25,
        'work_days = ["mon", "thu"]\nbreaks = [["2027-02-15", "2027-02-21"], ["2027-03-29", "2027-04-11"]]',
    ),
    200: _space(
        "Saltgate staff restaurant and its roof garden",
        [
            _zone(
                "cellar north",
                [
                    ("north deck one", "sites", 4, 15),
                    ("north deck two", "sites", 4, 15),
                    ("nursery deck", "nursery", 6, 30),
                ],
                watts=900,
            ),
            _zone(
                "cellar south",
                [
                    ("south deck", "sites", 4, 10),
                    ("the deck beside the old boiler that runs warm", "sites", 2, 10),
                    ("south trays", "tray", 2, 10),
                ],
                watts=900,
            ),
        ],
        [
            *(_heads(crop, 4 if n < 2 else 2) for n, crop in enumerate(MANY)),
            *(_grams(crop, 60) for crop in LEAVES),
        ],
        26,
        'work_days = ["mon", "wed", "fri"]',
    ),
}
"""Number of sites (and trays) -> text of the space file."""

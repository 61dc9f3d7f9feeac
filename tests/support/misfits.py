"""Invented spaces in which crops do badly: weak, strong, high, low lamps, dark walls, warm or still air."""

from random import Random

CROPS = ("lettuce-butterhead", "lettuce-looseleaf", "basil", "kale", "mint", "parsley", "dill", "chives")
TRAY_CROPS = ("spinach-baby", "arugula-baby", "microgreens-brassica", "mesclun")


def misfit(seed: int) -> str:
    """Return the space.toml of an invented rack or two, most often with a misfit."""
    draw = Random(seed)
    blocks = ['[place]\nname = "loft"\ntimezone = "Europe/Vienna"\nlatitude = 48.2\nlongitude = 16.4']
    crops = draw.sample(CROPS, draw.randint(1, 3))
    tray_crops = draw.sample(TRAY_CROPS, draw.randint(0, 1))
    for number in range(1, 1 + draw.choice((1, 1, 2))):
        blocks += _rack(draw, f"rack {number}", number, trays=bool(tray_crops))
    if draw.random() < 0.7:
        blocks.append('[tariff]\ncurrency = "EUR"\n[[tariff.rate]]\nname = "day"\nper_kwh = 0.31')
        if draw.random() < 0.4:
            blocks.append('[[tariff.rate]]\nname = "night"\nper_kwh = 0.19\nhours = [["22:00", "06:00"]]')
    blocks.append("[plan]\nstart = 2027-01-11\nweeks = 12")
    for crop in (*crops, *tray_crops):
        unit = "heads" if crop.startswith("lettuce") else "g"
        blocks.append(f'[[want]]\ncrops = ["{crop}"]\nper_week = 2\nunit = "{unit}"')
    return "\n\n".join(blocks) + "\n"


def _rack(draw: Random, name: str, number: int, *, trays: bool) -> list[str]:
    length, width = draw.choice(((1.2, 0.6), (0.9, 0.45), (1.5, 0.5)))
    area = length * width
    zone = [f'[[zone]]\nname = "{name}"\nlength_m = {length}\nwidth_m = {width}']
    hours = draw.choice((8, 10, 11.5, 12, 14, 16, 18))
    form = draw.random()
    if form < 0.4:
        zone.append(f"photoperiod_h = {hours}")
    elif form < 0.9:
        end = round((5.5 + hours) * 60) % 1440
        zone.append(f'lit = [["05:30", "{end // 60:02d}:{end % 60:02d}"]]')
    if draw.random() < 0.3:
        zone.append('quiet = [{ hours = [["22:00", "05:00"]] }]')
    zone.append(f"wall_reflectance = {draw.choice((0, 0.1, 0.4, 0.8, '[0.8, 0.8, 0, 0.8]'))}")
    zone.append(f"air_moving = {draw.choice(('true', 'false'))}")
    zone += draw.choice(
        (
            ["air_c = 21"],
            ["air_c = 27"],
            ["air_c = 15"],
            ["lamp_on_air_c = 25", "lamp_off_air_c = 19"],
            [f"room_c = {draw.choice((18, 22, 25))}"],
            [],
        )
    )
    if draw.random() < 0.15:
        zone.append("daylight_share = 0.05")
    watts = round(area * draw.choice((40, 60, 80, 120, 200, 350)))
    height = draw.choice((0.15, 0.22, 0.3, 0.45, 0.6))
    lamp = [f'[[fixture]]\nzone = "{name}"\nwatts = {watts}\nwatts_from = "meter"']
    if draw.random() < 0.85:
        lamp.append(f"lamp_to_canopy_m = {height}")
    if draw.random() < 0.5:
        lamp.append(f"ppf_umol_s = {round(watts * 2.3)}")
    if draw.random() < 0.25:
        lamp.append(f"length_m = {length - 0.2:.1f}\nwidth_m = 0.3\nx_m = 0.1\ny_m = 0.05")
    if draw.random() < 0.25:
        lamp.append(f"dims_to = 0.2\noutput = {draw.choice((0.5, 0.8, 1))}")
    beds = [(f"box {number}a", "sites"), (f"box {number}b", "sites"), (f"trays {number}", "tray")][
        : 2 + trays
    ]
    blocks = ["\n".join(zone), "\n".join(lamp)]
    for at, (bed, kind) in enumerate(beds):
        depth = width / len(beds)
        blocks.append(
            f'[[bed]]\nname = "{bed}"\nzone = "{name}"\nkind = "{kind}"\nrows = 2\ncolumns = 4\n'
            f"length_m = {length * 0.9:.2f}\nwidth_m = {depth * 0.9:.3f}\n"
            f"x_m = 0.02\ny_m = {depth * at + 0.01:.3f}"
        )
        if draw.random() < 0.2:
            blocks[-1] += f"\nheadroom_m = {draw.choice((0.2, 0.3, 0.5))}"
    if draw.random() < 0.3:
        read = draw.choice((70, 120, 200, 320))
        blocks.append(f'[[reading]]\nbed = "{beds[0][0]}"\numol_m2_s = [[{read}, {read - 12}, {read - 20}]]')
    return blocks

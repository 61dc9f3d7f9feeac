"""One small space for the tests of planning again, and notes about its batches."""

from datetime import date, timedelta

from cropcal.records.journal import Entry

START = date(2027, 1, 4)


SPACE = """
[place]
name = "Quarry stairs"

[[zone]]
name = "stairs"
length_m = 1.0
width_m = 0.6
photoperiod_h = 16
air_c = 21
air_moving = true

[[bed]]
name = "step"
zone = "stairs"
sites = {sites}
length_m = 0.9
width_m = 0.5

[[reading]]
bed = "step"
umol_m2_s = [[220]]

{more}
[plan]
start = 2027-01-04
weeks = {weeks}
work_days = ["mon", "thu"]

[[want]]
crops = ["{crop}"]
per_week = {per_week}
unit = "{unit}"
"""


NURSERY = """
[[bed]]
name = "saucer"
zone = "stairs"
kind = "nursery"
sites = 12
length_m = 0.3
width_m = 0.2

[[reading]]
bed = "saucer"
umol_m2_s = [[180]]
"""


def text(**changes):
    values = {
        "sites": 6,
        "weeks": 16,
        "crop": "lettuce-butterhead",
        "per_week": 1,
        "unit": "heads",
        "more": "",
    }
    return SPACE.format(**{**values, **changes})


BASIL = {"crop": "basil", "unit": "g", "per_week": 60, "weeks": 24, "sites": 12}


def noted(event, batch, on, **more):
    bed = (batch.nursery or batch.bed) if event == "sown" else batch.bed
    return Entry(event=event, batch=batch.id, crop=batch.crop, bed=bed, on=on, **more)


def days(count):
    return timedelta(days=count)

"""``cropcal new`` takes answers as people say them, or asks back; it never takes them for something else."""

import re
from datetime import date

import pytest
from as_people_say import ROWS, Asks

from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.interview.answers import AskBack, Heard, unit_in
from cropcal.reading.interview.questions import questions
from cropcal.records.answers import Wish

TABLES = read_crop_tables(None)[0]
QUESTIONS = {question.key: question for question in questions(TABLES)}
TODAY = date(2027, 1, 7)  # a Thursday


def plain(key, value):
    """Return an answer's meaning in plain values: metres, cm, °C, coins a kWh."""
    if key == "floor":
        return round(value.length_m, 2), round(value.width_m, 2), value.wall_reflectance
    if key in ("boxes", "lamp", "hours"):
        return value.model_dump(exclude_defaults=True)
    if key == "gap":
        return round(value * 100, 1)
    if key == "price":
        return value.per_kwh, value.currency
    if key == "eat":
        return [(name_of(wish), wish.per_week) for wish in value]
    return value.isoformat() if key == "start" else value


def name_of(wish: Wish) -> str:
    return wish.mix or (wish.crops[0] if len(wish.crops) == 1 else wish.crops[0].split("-")[0])


@pytest.mark.parametrize("row", ROWS, ids=[f"{row[0]}: {row[1]}" for row in ROWS])
def test_an_answer_means_what_a_person_meant(row):
    """Understood as meant, or asked back with the likely meaning, which then is understood."""
    key, text, meant, *earlier = row
    unit = next((unit_in(said) for said in (earlier[0] if earlier else {}).values()), None)
    heard = Heard(TODAY, unit)
    if isinstance(meant, Asks):
        with pytest.raises(AskBack, match=re.escape(meant.offer)) as asked:
            QUESTIONS[key].read(text, heard)
        assert "\n" not in str(asked.value)
        if asked.value.likely is not None:
            QUESTIONS[key].read(asked.value.likely, heard)
    else:
        assert plain(key, QUESTIONS[key].read(text, heard)) == meant

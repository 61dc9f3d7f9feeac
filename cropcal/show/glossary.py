"""Words that a new grower may not know, explained for the page and for ``cropcal explain``."""

from dataclasses import dataclass
from difflib import get_close_matches
from typing import Final

MOST_NEAR = 3
"""Words offered in place of one that is unknown."""


@dataclass(frozen=True)
class Term:
    """A word, what it means, and other words for the same."""

    word: str
    meaning: str
    also: tuple[str, ...] = ()


TERMS: Final = (
    Term(
        "batch",
        "Plants of one crop that are sown together for one bed. Its id says when: 0111a is the first batch"
        " sown on 11 January.",
        ("batch id", "id"),
    ),
    Term(
        "bed",
        "A box, a row of trays or a shelf of equal sites under a lamp. Each bed belongs to a zone; the"
        " nursery is a bed too.",
        ("box", "shelf"),
    ),
    Term(
        "bolt",
        "To shoot up a flower stem. Leaves turn bitter and the harvest is over; long days and heat bring it"
        " on.",
        ("bolting", "bolted"),
    ),
    Term(
        "cell",
        "A small place for one seedling in the nursery, a few centimetres wide. The seedling moves on to a"
        " site when it is big enough and a site is free.",
    ),
    Term(
        "chance",
        'How often something came true in the simulated seasons: "about 7 in 10" means in 7 of 10 seasons.',
        ("odds", "how likely"),
    ),
    Term(
        "crop",
        "A plant as it is grown here: baby spinach and full-size spinach would be two crops. cropcal crops"
        " lists them.",
    ),
    Term(
        "day limit",
        "The longest day, in hours of light, that a crop tolerates before it bolts or suffers. Where no"
        " source gives it, it is shown as unknown.",
        ("longest day", "photoperiod_max"),
    ),
    Term(
        "DLI",
        "Daily light integral: the light that falls on a square metre in a whole day, in mol. If PPFD is"
        " how hard it rains, DLI is how much is in the rain gauge by evening: 200 µmol for 16 hours make"
        " 11.5 mol.",
        ("daily light integral", "light of a day"),
    ),
    Term(
        "efficacy",
        "How much light a lamp gives for its power, in µmol for each joule: miles per gallon, for lamps.",
        ("umol/J", "µmol/J"),
    ),
    Term(
        "emergence",
        "Seedlings coming up: the day on which half of them show.",
        ("emerged", "coming up", "germination"),
    ),
    Term(
        "harvest window",
        "The days on which a crop can be cut: from when it is ready until it bolts, turns bitter or grows"
        " too big.",
        ("window", "cut by"),
    ),
    Term(
        "kWh",
        "Kilowatt-hour, the unit of energy on a bill: a lamp of 100 W that is on for 10 hours uses 1 kWh.",
        ("kilowatt-hour",),
    ),
    Term(
        "lux",
        "Light as the human eye sees it, which is what phones measure. Plants see it differently, so the"
        " kind of lamp must be known to turn lux into µmol.",
    ),
    Term(
        "mol",
        "A number of particles of light, as a dozen is a number of eggs, only far larger: a million µmol."
        " The light of a day is counted in mol.",
        ("mole",),
    ),
    Term(
        "nursery",
        "Where seedlings stand close together in cells until they move to a site, so that sites are not"
        " taken up by tiny plants.",
        ("seedling tray",),
    ),
    Term(
        "photoperiod",
        "How many hours of light a plant sees in a day, from lamp and sun together: all but the longest"
        " dark stretch.",
        ("photoperiod_h", "hours of light", "day length"),
    ),
    Term(
        "PPF",
        "Photosynthetic photon flux: all the light that leaves a lamp, in µmol a second. It is on good spec"
        " sheets; give it as ppf_umol_s.",
        ("ppf_umol_s", "photon flux"),
    ),
    Term(
        "PPFD",
        "Photosynthetic photon flux density: the light that falls on the leaves at any moment, in µmol on"
        " each square metre a second. It is how hard it rains; see DLI for the day's total.",
        ("umol/m2/s", "µmol/m²/s"),
    ),
    Term(
        "quiet hours",
        "Times at which the lamp should be off, because people sleep or meet there. Written as quiet in"
        " space.toml.",
        ("quiet",),
    ),
    Term(
        "range",
        "Two numbers or days between which the truth should lie in four cases out of five; one time in five"
        " it lies outside. Shown as likely, 4 in 5, or in brackets.",
        ("likely", "4 in 5", "four cases out of five"),
    ),
    Term(
        "reading",
        "Light measured over a bed, with a light meter or, under a white lamp, with a phone. Readings count"
        " for more than what a lamp's label says.",
        ("light reading",),
    ),
    Term(
        "set point",
        "What a timer, alarm, thermostat or other controller is set to: lamp on at 17:30, air alarm below"
        " 13 °C. The wall sheet, the page and setpoints.csv list all of them.",
        ("set points", "setpoint", "alarm"),
    ),
    Term(
        "simulated season",
        "The season played through once with its own luck: seeds that fail, slow and fast plants, a lamp"
        " weaker than its label. A plan is run through hundreds of them, and what is shown is what came of"
        " it.",
        ("season", "luck"),
    ),
    Term(
        "site",
        "A place for one plant or one clump: a pot, a net cup. A tray that is sown all over counts as one"
        " site.",
        ("pot", "net cup"),
    ),
    Term(
        "sow",
        "As a setting: how much is sown against bad luck. Sparing sows least and misses more weeks; safe"
        " sows most, and more goes uneaten; usual lies between.",
        ("sparing", "usual", "safe"),
    ),
    Term(
        "speed",
        "How fast a crop grows here compared with the book, that is the trials behind the crop table: 90%"
        " is a little slower. Your notes sharpen it.",
        ("pace", "book"),
    ),
    Term(
        "steady rule",
        "Sowing the same number on the same weekday, every week or every few weeks, with some extra at the"
        " start. Easy to remember; cropcal plan --steady follows it.",
        ("steady",),
    ),
    Term(
        "succession",
        "Sowing a little every week or so instead of everything at once, so that there is always something"
        " ready.",
        ("succession sowing",),
    ),
    Term(
        "tip burn",
        "Brown edges on young leaves: they grow faster than water and calcium reach them. Strong light and"
        " still air bring it on; a small fan helps.",
        ("tips burn",),
    ),
    Term(
        "transplant",
        "To move a seedling from its cell in the nursery to a site, roots and all.",
        ("move", "transplanted"),
    ),
    Term(
        "tray",
        "A bed that is sown all over rather than plant by plant, for baby leaves, microgreens and shoots.",
    ),
    Term(
        "uneaten",
        "What is cut, or goes over, and is not eaten in time: the price of sowing more than in the best"
        " case is needed.",
        ("surplus", "not eaten"),
    ),
    Term(
        "verdict",
        "How a crop will do in a bed: ok, it grows well; slow, it grows slowly; risk, something may harm"
        " it, such as bolting; no, it is not suitable there.",
        ("ok", "slow", "risk", "at risk", "no", "not suitable"),
    ),
    Term(
        "want",
        "What you would like to eat, as [[want]] in space.toml: one crop or any of several, and how much a"
        " week or on which day.",
    ),
    Term(
        "weekly target",
        "One want in one week. It is met if the whole amount is there to eat that week, fresh or kept;"
        " otherwise it is missed, and half of it missing counts as half.",
        ("target", "met", "missed", "short"),
    ),
    Term(
        "within",
        'How far off a number may be in four cases out of five. "200 µmol, within 29%" means that the truth'
        " should lie between 200 divided by 1.29 and 200 times 1.29.",
        ("spread", "known to"),
    ),
    Term(
        "work day",
        "A day of the week on which you have time for the plants, from work_days in space.toml. The plan"
        " puts its jobs on these days.",
        ("work_days",),
    ),
    Term(
        "young plants",
        "Plants bought in small pots instead of sown, also called plugs: plugs = true in a want.",
        ("plug", "plugs"),
    ),
    Term(
        "zone",
        "All that one lamp timer serves, in one air: the beds of a zone have light at the same hours, like"
        " the lamps of a room with one switch.",
    ),
    Term(
        "µmol",
        "A millionth of a mol of light, said micromole. The light at any moment is counted in µmol on a"
        " square metre a second (PPFD).",
        ("umol", "micromole"),
    ),
)
"""Every word that is explained, in alphabetical order."""

WORDS: Final = tuple(term.word for term in TERMS)


def _folded(word: str) -> str:
    return " ".join(word.casefold().replace("_", " ").replace("-", " ").replace("μ", "µ").split())


_TERM_OF: Final = {
    **{_folded(name): term for term in TERMS for name in term.also},
    **{_folded(term.word): term for term in TERMS},
}


def explained(word: str) -> Term | None:
    """Return the term that a word means, in the singular or plural, None if it is not in the glossary."""
    folded = _folded(word)
    endings = ("", "s", "es")
    stems = (folded.removesuffix(ending) for ending in endings if folded.endswith(ending))
    return next((_TERM_OF[stem] for stem in stems if stem in _TERM_OF), None)


def nearest_words(word: str) -> tuple[str, ...]:
    """Return the words of the glossary most like an unknown one, the nearest first; () if none is close."""
    close = get_close_matches(_folded(word), _TERM_OF, n=MOST_NEAR, cutoff=0.6)
    return tuple(dict.fromkeys(_TERM_OF[name].word for name in close))

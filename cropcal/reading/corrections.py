"""What holds after all corrections; the corrected lines stay in the history."""

from cropcal.problems import Problem, Where
from cropcal.reading.words import did_you_mean, listed
from cropcal.records.journal import Entry, Journal

MOST_IDS_NAMED = 12


def resolved(entries: list[Entry], path: str) -> tuple[tuple[Entry, ...], list[Problem]]:
    """Return the events that hold, by day and then by line, and corrections that lead nowhere.

    A line that corrects another takes its place, and of several the last holds. ``undone`` takes back
    the line it names: a first statement with all its corrections, a correction so that the one before
    holds again, an ``undone`` so that what it took back holds again.
    """
    known, problems = _linked(entries, path)
    root = _roots(known)
    chains: dict[str, list[Entry]] = {}
    for name, entry in known.items():
        chains.setdefault(root[name], []).append(entry)
    events = [latest for chain in chains.values() if (latest := _latest(chain)) is not None]
    return tuple(sorted(events, key=lambda entry: (entry.on, entry.line or 0))), problems


def holding(entry: Entry, journal: Journal) -> Entry:
    """Return the line that holds of what an entry told first or corrected; the entry itself if none does."""
    root = _roots({one.id: one for one in journal.entries})
    same = (one for one in journal.events if root[one.id] == root[entry.id])
    return next(same, entry)


def _roots(known: dict[str, Entry]) -> dict[str, str]:
    """Return the id of the first statement behind each line, by the line's id."""
    root: dict[str, str] = {}
    for name, entry in known.items():
        root[name] = root.get(entry.corrects, name)
    return root


def _linked(entries: list[Entry], path: str) -> tuple[dict[str, Entry], list[Problem]]:
    """Return the entries by their ids, without those that correct a line that is not there."""
    known: dict[str, Entry] = {}
    problems: list[Problem] = []
    for entry in entries:
        where = Where(path, entry.line)
        if entry.id in known:
            found, first = f'"{entry.id}" again', known[entry.id].line
            problems.append(Problem(where, "id", found, "each id once", f"line {first} has it"))
        elif entry.corrects and entry.corrects not in known:
            problems.append(_unknown(entry, where, known))
        else:
            known[entry.id] = entry
    return known, problems


def _latest(chain: list[Entry]) -> Entry | None:
    """Return the line that holds of a first statement and all that was said of it since."""
    void: set[str] = set()
    for entry in reversed(chain):
        if entry.event == "undone" and entry.id not in void:
            void.add(entry.corrects)
    held: list[Entry] = []
    for entry in chain:
        if entry.event != "undone":
            held.append(entry)
        elif entry.id not in void:
            whole = entry.corrects == chain[0].id
            held = [] if whole else [one for one in held if one.id != entry.corrects]
    return held[-1] if held else None


def _unknown(entry: Entry, where: Where, known: dict[str, Entry]) -> Problem:
    hint = did_you_mean(entry.corrects, list(known)[-MOST_IDS_NAMED:]) if known else ""
    expected = "the id of an earlier line"
    if len(hint) > 120:
        hint = f"the last ones are {listed(list(known)[-3:])}"
    return Problem(where, "corrects", f'"{entry.corrects}"', expected, hint)

"""The events that are valid after all corrections; corrected lines stay in the history."""

from cropcal.problems import Problem, Where
from cropcal.reading.text.suggestions import did_you_mean, listed
from cropcal.records.journal import Entry, Journal

MOST_IDS_NAMED = 12


def resolve_corrections(entries: list[Entry], path: str) -> tuple[tuple[Entry, ...], list[Problem]]:
    """Return the valid events, by day and then by line, and a problem for each correction of an unknown line.

    A line that corrects another replaces it; of several corrections the last is valid. ``undone`` takes back
    the line it names: a first statement with all its corrections; a correction, so that the line before it is
    valid again; an ``undone``, so that what it took back is valid again.
    """
    known, problems = _linked(entries, path)
    root = _roots(known)
    chains: dict[str, list[Entry]] = {}
    for name, entry in known.items():
        chains.setdefault(root[name], []).append(entry)
    events = [latest for chain in chains.values() if (latest := _latest(chain)) is not None]
    return tuple(sorted(events, key=lambda entry: (entry.on, entry.line or 0))), problems


def current_line(entry: Entry, journal: Journal) -> Entry:
    """Return the valid line among an entry and its corrections; the entry itself if none is valid."""
    root = _roots({other.id: other for other in journal.entries})
    same = (other for other in journal.events if root[other.id] == root[entry.id])
    return next(same, entry)


def _roots(known: dict[str, Entry]) -> dict[str, str]:
    """Return the id of the first statement behind each line, by the line's id."""
    root: dict[str, str] = {}
    for name in known:
        trail = {name: None}
        while (behind := known[name].corrects) in known and behind not in trail:
            name = behind
            trail[name] = None
        root |= dict.fromkeys(trail, name)
    return root


def _linked(entries: list[Entry], path: str) -> tuple[dict[str, Entry], list[Problem]]:
    """Return the entries by their ids, each after the one it corrects, without those of unknown targets."""
    problems: list[Problem] = []
    once: dict[str, Entry] = {}
    for entry in entries:
        if entry.id in once:
            found, first = f'"{entry.id}" again', once[entry.id].line
            where = Where(path, entry.line)
            problems.append(Problem(where, "id", found, "each id once", f"line {first} has it"))
        else:
            once[entry.id] = entry
    known: dict[str, Entry] = {}
    waiting = _in_time(once)
    while waiting:
        left = []
        for entry in waiting:
            if entry.corrects and entry.corrects not in known:
                left.append(entry)
            else:
                known[entry.id] = entry
        if len(left) == len(waiting):
            problems += [_unknown(entry, Where(path, entry.line), known) for entry in left]
            break
        waiting = left
    return known, problems


def _in_time(once: dict[str, Entry]) -> list[Entry]:
    """Return the lines in the order of writing: the file's order, unless a spreadsheet has sorted them since.

    It has if a line follows one that corrects it; then the times of writing decide, if every line has one.
    """
    lines = list(once.values())
    place = {name: at for at, name in enumerate(once)}
    if any(place.get(entry.corrects, -1) > place[entry.id] for entry in lines):
        times = {entry.id: entry.written_at for entry in lines if entry.written_at}
        if len(times) == len(lines):
            return sorted(lines, key=lambda entry: times[entry.id])
    return lines


def _latest(chain: list[Entry]) -> Entry | None:
    """Return the valid line of a first statement and its corrections; None if it was taken back."""
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
            held = [] if whole else [other for other in held if other.id != entry.corrects]
    return held[-1] if held else None


def _unknown(entry: Entry, where: Where, known: dict[str, Entry]) -> Problem:
    hint = did_you_mean(entry.corrects, list(known)[-MOST_IDS_NAMED:]) if known else ""
    expected = "the id of another line"
    if len(hint) > 120:
        hint = f"the last ones are {listed(list(known)[-3:])}"
    return Problem(where, "corrects", f'"{entry.corrects}"', expected, hint)

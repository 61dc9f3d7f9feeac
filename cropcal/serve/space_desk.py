"""Change space.toml by a form: tried first or kept at once, by the checks of the file, all or not at all."""

import copy
import threading
import tomllib
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from cropcal.problems import Problem
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.files.plain_file import read_bytes
from cropcal.reading.journal.read import FILE_NAME as JOURNAL
from cropcal.reading.journal.read import read_journal
from cropcal.reading.space.read import read_space, read_space_text, read_space_text_with
from cropcal.reading.space.rewrite import Rewritten, rewritten, with_data
from cropcal.reading.text.toml_locations import KeyPath
from cropcal.records.crop import CropTables
from cropcal.season import clock
from cropcal.season.edit import space_file, write_if_same
from cropcal.season.errors import SpaceError
from cropcal.season.load import folder_of
from cropcal.serve.space_cards import NEW, Tried, along, path_of, table_of
from cropcal.serve.space_titles import title_of
from cropcal.serve.space_typed import (
    RefusedError,
    Said,
    TypedForm,
    asked_of,
    capital,
    name_of,
    options_of,
    plain_text,
    rows_at,
)
from cropcal.serve.space_words import TABLES, unit_of, words_of

MOST_TEXTS = 100
MOST_ANSWERED = 200
NOTHING = "Nothing was changed: the fields hold what the file holds."
NO_TRIAL = "There is nothing tried that could be kept: it was kept or thrown away in another window."
MEANWHILE = "space.toml was changed meanwhile, so what was tried was not kept."


@dataclass(frozen=True)
class TriedText:
    """A text that is tried, the file it was made from, and what is different, in words."""

    text: str
    file: bytes
    changes: tuple[str, ...]


class SpaceDesk:
    """Answers the forms of a space, one at a time, each once, and holds what is tried."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._turn = threading.RLock()
        self._answered: OrderedDict[str, Said] = OrderedDict()
        self._texts: OrderedDict[str, str] = OrderedDict()
        self._trial: TriedText | None = None

    def answered(self, token: str) -> Said | None:
        """Return what came of the form with a token, None if nothing is known of it."""
        return self._answered.get(token)

    def trial(self) -> TriedText | None:
        """Return what is tried."""
        return self._trial

    def text(self) -> tuple[str, str]:
        """Return the text that the form shows, with what is tried, and its name.

        Raises
        ------
        SpaceError
            If the file cannot be read, or is no TOML.
        """
        with self._turn:
            text = self._trial.text if self._trial else self._file().decode("utf-8")
            return text, self._remember(text)

    def tables(self) -> CropTables:
        """Return crops and lamps.

        Raises
        ------
        SpaceError
            If the space's own crops have mistakes.
        """
        tables, problems = read_crop_tables(folder_of(self.path))
        if tables is None:
            raise SpaceError(problems)
        return tables

    def is_stale(self) -> bool:
        """Return whether the file was changed since the trial began."""
        return self._trial is not None and self._file() != self._trial.file

    def change(self, token: str, form: Mapping[str, str], *, keep: bool) -> Said:
        """Change the values of one table, or add a row; ``keep``: write it, unless something is tried."""
        return self._once(token, lambda: self._changed(form, keep=keep))

    def take_out(self, token: str, form: Mapping[str, str], *, keep: bool) -> Said:
        """Take a row out, with what cannot be without it."""
        return self._once(token, lambda: self._taken_out(form, keep=keep))

    def keep(self, token: str) -> Said:
        """Write what is tried."""
        return self._once(token, self._kept)

    def drop(self, token: str) -> Said:
        """Throw away what is tried."""

        def dropped() -> Said:
            self._trial = None
            return Said(("Thrown away. The space is as it was.",))

        return self._once(token, dropped)

    def back(self, token: str, form: Mapping[str, str]) -> Said:
        """Put a former text back, if nobody changed the file since."""
        return self._once(token, lambda: self._put_back(form))

    def _once(self, token: str, answer: Callable[[], Said]) -> Said:
        with self._turn:
            known = self._answered.get(token)
            if known is None or known.mistakes:
                try:
                    self._answered[token] = answer()
                except RefusedError as refused:
                    self._answered[token] = refused.said
                except SpaceError as error:
                    self._answered[token] = Said(mistakes=tuple(map(str, error.problems)))
                while len(self._answered) > MOST_ANSWERED:
                    self._answered.popitem(last=False)
            return self._answered[token]

    def _changed(self, form: Mapping[str, str], *, keep: bool) -> Said:
        file = self._file()
        text = self._trial.text if self._trial else file.decode("utf-8")
        asked = asked_of(form, self._texts.get(form.get("base", "")), text)
        options, values, mistakes = options_of(asked, self.tables())
        words: tuple[str, ...] = ()
        tried = Tried(asked.at, asked.typed, mistakes, base=self._remember(text))
        if asked.at.endswith(f".{NEW}"):
            if not values and not mistakes:
                return Said(mistakes=("Nothing was typed, so nothing was added.",), tried=tried)
            data = copy.deepcopy(dict(asked.now))
            self._rows(data, asked.path[:-1]).append(values)
            name = title_of(table_of(asked.at), values, self.tables())
            words = (f"{capital(TABLES[table_of(asked.at)].row)} added: {name}.",)
            made, problems = with_data(text, data, "space.toml")
            found = self._problems(made.text) if made else problems
        else:
            if not asked.changed:
                return Said((NOTHING,))
            mistakes |= self._of_rename(asked)
            made, found = None, []
            if not mistakes:
                _, _, found = read_space_text_with(
                    text, self.tables(), options, "space.toml", today=clock.today()
                )
                made, problems = rewritten(text, options, "space.toml")
                words = self._words(asked, made)
                found = found or problems
        if mistakes or found or made is None:
            tried = replace(tried, problems=tuple(found))
            return Said(mistakes=("Nothing was written: see below.",), tried=tried)
        return self._done(file, text, made, words, keep=keep)

    def _taken_out(self, form: Mapping[str, str], *, keep: bool) -> Said:
        file = self._file()
        text = self._trial.text if self._trial else file.decode("utf-8")
        asked = asked_of(form, self._texts.get(form.get("base", "")), text)
        table = table_of(asked.at)
        data = copy.deepcopy(dict(asked.now))
        gone = [(table, asked.path[-1]), *along(data, asked.path)]
        if table in ("zone", "bed"):
            for name, place in gone:
                if name == "bed" and isinstance(place, int):
                    self._refuse_noted(str(data["bed"][place].get("name")))
        for name, place in sorted(gone, key=lambda one: -int(one[1])):
            rows = self._rows(data, path_of(name))
            del rows[int(place)]
            if not rows and name == "tariff.rate":
                del data["tariff"]
            elif not rows:
                del data[name]
        made, problems = with_data(text, data, "space.toml")
        found = self._problems(made.text) if made else problems
        if made is None or found:
            return Said(mistakes=("Nothing was taken out.", *map(_without_file, found)))
        names = [self._called(asked.now, name, int(place)) for name, place in gone]
        return self._done(file, text, made, (f"Taken out: {', '.join(names)}.",), keep=keep)

    def _refuse_noted(self, bed: str) -> None:
        """Refuse to take out or rename a bed of which the journal has notes: they could not be read then."""
        count = self._notes_of(bed)
        if count:
            notes = f"{count} note{'s' if count > 1 else ''}"
            advice = 'Use "Out of use" of the bed instead'
            raise RefusedError(
                Said(mistakes=(f"The journal has {notes} about {bed}, so it stays. {advice}.",))
            )

    def _of_rename(self, asked: TypedForm) -> dict[str, str]:
        """Return what is wrong with another name for a bed of which the journal has notes."""
        old = asked.shown.get("name")
        if asked.at.split(".")[0] != "bed" or "name" not in asked.changed or not isinstance(old, str):
            return {}
        return (
            {"name": f"The journal has notes about {old}, so it keeps its name."}
            if self._notes_of(old)
            else {}
        )

    def _notes_of(self, bed: str) -> int:
        journal = read_journal(folder_of(self.path) / JOURNAL, None)[0]
        return sum(event.bed == bed for event in journal.events)

    def _done(self, file: bytes, text: str, made: Rewritten, words: Sequence[str], *, keep: bool) -> Said:
        """Write a new text, or hold it as what is tried."""
        before = self._trial
        if keep and before is None:
            write_if_same(space_file(self.path), file, made)
            name = self._remember(text)
            self._remember(made.text)
            return Said(tuple(words), back=name, is_kept=True)
        changes = (*(before.changes if before else ()), *words)
        self._trial = TriedText(made.text, before.file if before else file, changes)
        return Said(("Tried. The file stays as it is until you keep it.",))

    def _kept(self) -> Said:
        trial = self._trial
        if trial is None:
            return Said(mistakes=(NO_TRIAL,))
        if self._file() != trial.file:
            return Said(mistakes=(MEANWHILE,))
        write_if_same(space_file(self.path), trial.file, Rewritten(trial.text))
        self._trial = None
        back = self._remember(trial.file.decode("utf-8"))
        return Said(trial.changes, back=back, is_kept=True)

    def _put_back(self, form: Mapping[str, str]) -> Said:
        former = self._texts.get(form.get("text", ""))
        file = self._file()
        if former is None or name_of(file.decode("utf-8")) != form.get("base"):
            return Said(mistakes=("The file was changed meanwhile, so nothing was put back.",))
        write_if_same(space_file(self.path), file, Rewritten(former))
        return Said(("The space is as it was before.",), is_kept=True)

    def _words(self, asked: TypedForm, made: Rewritten | None) -> tuple[str, ...]:
        """Return what a form changed, key by key, in the words of its fields."""
        table = table_of(asked.at)
        place = asked.path[-1]
        where = self._called(asked.now, table, place) if isinstance(place, int) else TABLES[table].row
        lines = []
        for change in made.changes if made else ():
            key = change.key.rpartition(".")[2]
            label = words_of(table, key).label
            unit = f" {unit_of(key)}" if unit_of(key) else ""
            was = "not given" if change.before is None else f"{plain_text(change.before)}{unit}"
            now = "taken out" if change.now is None else f"{plain_text(change.now)}{unit}"
            because = f", because of {words_of(table, change.because).label}" if change.because else ""
            lines.append(f"{capital(where)}, {label}: {now} (was {was}{because}).")
        return tuple(lines)

    def _called(self, data: Mapping[str, Any], table: str, place: int) -> str:
        """Return what a row is called, with what it is."""
        row = rows_at(data, path_of(table))[place]
        return f"{TABLES[table].row} {title_of(table, row, self.tables())}"

    def _problems(self, text: str) -> list[Problem]:
        return read_space_text(text, self.tables(), "space.toml", today=clock.today())[1]

    def _rows(self, data: dict[str, Any], path: KeyPath) -> list[Any]:
        """Return the list of rows of a table, put there if there is none."""
        *outer, last = path
        holder: Any = data
        for part in outer:
            holder = holder.setdefault(part, {})
        rows: list[Any] = holder.setdefault(last, [])
        return rows

    def _file(self) -> bytes:
        """Return the bytes of the file, which is TOML."""
        file = space_file(self.path)
        try:
            data = read_bytes(file)
            tomllib.loads(data.decode("utf-8").removeprefix("\ufeff"))
        except (OSError, ValueError, RecursionError):
            raise SpaceError(read_space(file, self.tables(), today=clock.today())[1]) from None
        return data

    def _remember(self, text: str) -> str:
        name = name_of(text)
        self._texts[name] = text
        self._texts.move_to_end(name)
        while len(self._texts) > MOST_TEXTS:
            self._texts.popitem(last=False)
        return name


def _without_file(problem: Problem) -> str:
    return str(problem).removeprefix(f"{problem.where}:").strip()

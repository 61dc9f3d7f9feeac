"""Plan again in the background: at most one plan is in the making; it replaces nothing until it is kept."""

import contextlib
import json
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Literal

from cropcal.season.errors import SpaceError
from cropcal.season.files import keep_files, kept_before
from cropcal.season.load import PLAN_FOLDER, folder_of, plan_json
from cropcal.serve.planned_again import SAID, Preview

Stage = Literal["idle", "planning", "ready", "failed"]
Start = Callable[[Path, Path, date, bool], "subprocess.Popen[str]"]

NOT_THERE = "There is no new plan to keep: it was kept or thrown away in another window."
REPLACED = "Another plan was written meanwhile, so this one was not kept. Plan again."
FAILED = "Planning ended without a plan. The plan that you had is unchanged."


def start_process(path: Path, beside: Path, today: date, begun: bool) -> "subprocess.Popen[str]":
    """Start to plan in a process of its own, so that the pages answer as fast as before."""
    words = [str(path), str(beside), today.isoformat(), "begun" if begun else "not begun"]
    return subprocess.Popen(
        [sys.executable, "-m", "cropcal.serve.planned_again", *words],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        start_new_session=True,  # Ctrl-C in the terminal is for the server, which ends this process itself
    )


@dataclass(frozen=True)
class Progress:
    """How far a new plan is.

    Attributes
    ----------
    stage
        "idle": none is in the making; "ready": it waits to be kept or thrown away.
    spent_s
        How long it has been in the making [s].
    trials
        How many changes were tried.
    preview
        The new plan in plain words, if it is ready.
    mistakes
        Why there is none, if it failed.
    """

    stage: Stage = "idle"
    spent_s: float = 0.0
    trials: int = 0
    preview: Preview | None = None
    mistakes: tuple[str, ...] = ()


class Planner:
    """The one plan in the making, of all windows of a space."""

    def __init__(self, path: Path, start: Start = start_process) -> None:
        self.path, self._start = path, start
        self._lock = threading.RLock()
        self._now = Progress()
        self._began = 0.0
        self._beside: Path | None = None
        self._process: subprocess.Popen[str] | None = None
        self._replaces: bytes | None = None

    def progress(self) -> Progress:
        """Return how far it is."""
        with self._lock:
            if self._now.stage == "planning":
                spent_s = time.monotonic() - self._began
                return Progress("planning", spent_s, self._now.trials)
            return self._now

    def begin(self, today: date, *, begun: bool = False) -> None:
        """Begin to plan, unless a plan is in the making or waits to be kept."""
        with self._lock:
            if self._now.stage in ("planning", "ready"):
                return
            self._began, self._now = time.monotonic(), Progress("planning")
            self._beside = Path(tempfile.mkdtemp(prefix="cropcal-"))
            self._replaces = self._plan_now()
            self._process = self._start(self.path, self._beside, today, begun)
            threading.Thread(target=self._follow, args=(self._process, self._beside), daemon=True).start()

    def _follow(self, process: "subprocess.Popen[str]", beside: Path) -> None:
        """Read the progress of the process until it ends, then what it made."""
        if process.stdout is not None:
            for line in process.stdout:
                if line.strip().isdecimal():
                    with self._lock:
                        if process is self._process:
                            self._now = Progress("planning", trials=int(line))
            process.stdout.close()
        code = process.wait()
        if process.stdin is not None:
            with contextlib.suppress(OSError):
                process.stdin.close()
        with self._lock:
            if process is not self._process:
                return  # it was thrown away meanwhile
            spent_s = time.monotonic() - self._began
            self._now = Progress("failed", spent_s, mistakes=(FAILED,))
            with contextlib.suppress(OSError, ValueError):
                said = (beside / SAID).read_text(encoding="utf-8")
                if code == 0:
                    preview = Preview.model_validate_json(said)
                    self._now = Progress("ready", spent_s, preview=preview)
                elif code == 2:
                    self._now = Progress("failed", spent_s, mistakes=tuple(map(str, json.loads(said))))
            if self._now.stage == "failed":
                self._clear()

    def enough(self) -> None:
        """End the search early, with the best plan so far."""
        with self._lock:
            if self._now.stage == "planning" and self._process is not None and self._process.stdin:
                with contextlib.suppress(OSError):
                    self._process.stdin.write("enough\n")
                    self._process.stdin.flush()

    def keep(self) -> tuple[str, ...]:
        """Let the new plan replace the one that holds; return why it did not, () if it did."""
        with self._lock:
            if self._now.stage != "ready" or self._beside is None:
                return (NOT_THERE,)
            if self._plan_now() != self._replaces:
                self.drop()
                return (REPLACED,)
            folder = folder_of(self.path) / PLAN_FOLDER
            files: dict[str, str | bytes] = {
                file.name: file.read_bytes()
                for file in self._beside.iterdir()
                if file.is_file() and file.name != SAID
            }
            try:
                keep_files(folder, kept_before(folder) | files)
            except SpaceError as error:
                return tuple(map(str, error.problems))
            self.drop()
            return ()

    def drop(self) -> None:
        """Throw away the plan that is ready or in the making."""
        with self._lock:
            process, self._process = self._process, None
            self._now = Progress()
            if process is not None and process.poll() is None:
                process.kill()
                process.wait()
            self._clear()

    def _clear(self) -> None:
        if self._beside is not None:
            shutil.rmtree(self._beside, ignore_errors=True)
            self._beside = None

    def _plan_now(self) -> bytes | None:
        """Return the plan.json that holds, None if there is none."""
        try:
            return plan_json(self.path).read_bytes()
        except OSError:
            return None

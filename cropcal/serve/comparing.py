"""Compare in the background what is tried with what is: at most one comparison is in the making."""

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

from cropcal.season.edit import space_file
from cropcal.season.load import folder_of
from cropcal.serve.tried_beside import SAID, Compared

Start = Callable[[Path, Path, date], "subprocess.Popen[str]"]
Stage = Literal["idle", "planning", "ready", "failed"]
CROPS = "crops.csv"
FAILED = "The two could not be compared. What you tried can be kept all the same."


def start_process(path: Path, tried: Path, today: date) -> "subprocess.Popen[str]":
    """Start to compare in a process of its own, so that the pages answer as fast as before."""
    return subprocess.Popen(
        [sys.executable, "-m", "cropcal.serve.tried_beside", str(path), str(tried), today.isoformat()],
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        text=True,
        start_new_session=True,  # Ctrl-C in the terminal is for the server, which ends this process itself
    )


@dataclass(frozen=True)
class Comparing:
    """How far a comparison is, and what came of it."""

    stage: Stage = "idle"
    spent_s: float = 0.0
    compared: Compared | None = None
    mistakes: tuple[str, ...] = ()


class Comparer:
    """The one comparison in the making, of all windows of a space."""

    def __init__(self, path: Path, start: Start = start_process) -> None:
        self.path, self._start = path, start
        self._lock = threading.RLock()
        self._now = Comparing()
        self._began = 0.0
        self._process: subprocess.Popen[str] | None = None
        self._beside: Path | None = None

    def progress(self) -> Comparing:
        """Return how far it is."""
        with self._lock:
            if self._now.stage == "planning":
                return Comparing("planning", time.monotonic() - self._began)
            return self._now

    def begin(self, tried: str, today: date) -> None:
        """Begin to compare a text of space.toml with the file; what was compared before is dropped."""
        with self._lock:
            self.drop()
            self._beside = beside = Path(tempfile.mkdtemp(prefix="cropcal-"))
            self._copy(beside, tried)
            self._began, self._now = time.monotonic(), Comparing("planning")
            self._process = self._start(space_file(self.path), beside, today)
            threading.Thread(target=self._follow, args=(self._process, beside), daemon=True).start()

    def drop(self) -> None:
        """End the comparison, and forget what came of it."""
        with self._lock:
            process, self._process = self._process, None
            self._now = Comparing()
            if process is not None and process.poll() is None:
                process.kill()
                process.wait()
            if self._beside is not None:
                shutil.rmtree(self._beside, ignore_errors=True)
                self._beside = None

    def _copy(self, beside: Path, tried: str) -> None:
        (beside / "space.toml").write_text(tried, encoding="utf-8", newline="")
        crops = folder_of(self.path) / CROPS
        if crops.is_file():
            shutil.copy(crops, beside / CROPS)

    def _follow(self, process: "subprocess.Popen[str]", beside: Path) -> None:
        """Wait for the process, then read what it made."""
        code = process.wait()
        if process.stdin is not None:
            with contextlib.suppress(OSError):
                process.stdin.close()
        now = Comparing("failed", mistakes=(FAILED,))
        with contextlib.suppress(OSError, ValueError):
            said = (beside / SAID).read_text(encoding="utf-8")
            if code == 0:
                now = Comparing("ready", compared=Compared.model_validate_json(said))
            elif code == 2:
                now = Comparing("failed", mistakes=tuple(map(str, json.loads(said))))
        shutil.rmtree(beside, ignore_errors=True)
        with self._lock:
            if process is self._process:
                self._now = now

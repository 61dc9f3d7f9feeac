"""Read back the jobs of a plan that was written earlier."""

import json
from datetime import date
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from cropcal.records.plan import Job


def read_jobs(path: Path, inputs_sha256: str) -> tuple[Job, ...] | None:
    """Return the jobs in a plan.json, or None if there is none, or it was made of other files.

    Parameters
    ----------
    path
        The plan.json.
    inputs_sha256
        Hash of the files as they are now; a plan made of others is no longer the plan.
    """
    try:
        form = json.loads(path.read_text(encoding="utf-8"))
        if form["inputs_sha256"] != inputs_sha256:
            return None
        return tuple(_job(dict(row)) for row in form["jobs"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError, ValidationError):
        return None


def _job(row: dict[str, Any]) -> Job:
    on = date.fromisoformat(row.pop("date"))
    return Job(on=on, **row)

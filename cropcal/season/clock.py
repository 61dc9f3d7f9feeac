"""The user's own calendar day: the one place where the computer's clock is read.

Callers write ``clock.today()``, so that a test which sets another day sets it for all of them.
"""

from datetime import date


def today() -> date:
    """Return the user's own calendar day."""
    return date.today()  # noqa: DTZ011

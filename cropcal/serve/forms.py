"""Forms that a browser sends: their fields as text, and the tokens that make each count once."""

import hashlib
import hmac
import secrets
from collections.abc import Mapping
from datetime import date
from urllib.parse import parse_qsl

from cropcal.letters import clean, clean_lines

MOST_FIELDS = 120
"""The largest form is that of a want with a tick for each crop."""
LONGEST_FIELD = 2000
LONGEST_LINES = 20_000
"""Most characters of a field of several lines: a reading of a large bed."""
_NONCE_BYTES = 12


class BadFormError(Exception):
    """A form that no page of ours makes: too many fields, broken text, or a token that is not ours."""


def fields_of(body: bytes, *, lines: bool = False) -> dict[str, str]:
    """Return the fields of an ``application/x-www-form-urlencoded`` body; of a repeated one the last filled.

    ``lines``: values may have several lines, and be longer for it.

    Raises
    ------
    BadFormError
        If it is no such form.
    """
    try:
        pairs = parse_qsl(
            body.decode("ascii"), keep_blank_values=True, max_num_fields=MOST_FIELDS, errors="strict"
        )
    except ValueError as error:
        message = f"too many fields, or no text: {error}"
        raise BadFormError(message) from error
    fields: dict[str, str] = {}
    for name, value in pairs:
        if len(value) > (LONGEST_LINES if lines else LONGEST_FIELD):
            message = f"a field of {len(value)} characters"
            raise BadFormError(message)
        if value.strip() or name not in fields:
            made = clean_lines(value.replace("\r\n", "\n")) if lines else clean(value)
            fields[name] = made.strip()
    return fields


def day_in(text: str | None) -> date | None:
    """Return the day of a text like 2027-01-05, None if it is none."""
    try:
        return date.fromisoformat(text or "")
    except ValueError:
        return None


class Tokens:
    """Makes a token for each form, and knows its own: nobody else can make one."""

    def __init__(self) -> None:
        self._secret = secrets.token_bytes(32)

    def new(self) -> str:
        """Return a token that was never given before."""
        nonce = secrets.token_urlsafe(_NONCE_BYTES)
        return f"{nonce}.{self._sign(nonce)}"

    def require_own(self, fields: Mapping[str, str]) -> str:
        """Return the token of a form, or raise ``BadFormError`` if it has none of ours."""
        token = fields.get("token", "")
        nonce, _, sign = token.partition(".")
        if not hmac.compare_digest(sign.encode("utf-8", "surrogatepass"), self._sign(nonce).encode()):
            message = "a token that is not ours"
            raise BadFormError(message)
        return token

    def _sign(self, nonce: str) -> str:
        return hmac.new(self._secret, nonce.encode("utf-8", "surrogatepass"), hashlib.sha256).hexdigest()[:32]

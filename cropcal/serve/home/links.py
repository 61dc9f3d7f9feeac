"""What ``--home`` adds: an address in the home network, a code that lets a phone in, links that only read."""

import ipaddress
import socket
import sys
from dataclasses import dataclass
from textwrap import fill
from typing import TYPE_CHECKING

from cropcal.serve.home.invitation import VALID_S, Invitation, Invited
from cropcal.serve.home.keys import HomeKeys
from cropcal.serve.security import CALENDAR, ENTRANCE, Keys, new_key

if TYPE_CHECKING:
    from segno import QRCode

EXPOSED = (
    "This is plain HTTP, not encrypted: everyone in the same network who has a link or the code gets in, "
    "so it is not for the internet, and no port may be forwarded to it."
)
NO_NETWORK = "This computer has no address in a home network, so phones cannot reach it; only it can."
ON_THE_INTERNET = "{} is an address of the internet, not of a home network, so only this computer is served."
WIDTH = 80
_ELSEWHERE = ("192.0.2.1", 9)
"""An address that is nobody's (RFC 5737). To name it as where packets would go sends none."""
_UPPER, _LOWER, _BOTH, _NONE = "\u2580", "\u2584", "\u2588", " "
_PAINTED = "\033[38;5;231;48;5;16m{}\033[0m"
"""White on black of the fixed colours of a terminal, which no theme changes."""


@dataclass(frozen=True)
class Home:
    """Where a space is served in the home network, and by which links.

    Attributes
    ----------
    address, port
        The address of this computer in the home network.
    keys
        The keys that are kept from one start to the next.
    invitation
        The code that lets a phone in.
    """

    address: str
    port: int
    keys: HomeKeys
    invitation: Invitation

    @property
    def base(self) -> str:
        """The address that is typed on a phone."""
        return f"http://{self.address}:{self.port}"

    @property
    def reading(self) -> str:
        """The link that only reads."""
        return f"{self.base}/?key={self.keys.read}"

    @property
    def calendar(self) -> str:
        """The link that a calendar subscribes to."""
        return f"{self.base}{CALENDAR}?key={self.keys.calendar}"

    def keys_of_links(self) -> Keys:
        """Return the keys of all links: a new one that writes, and those that are kept."""
        return Keys(new_key(), self.keys.read, self.keys.calendar, self.keys.is_phone)

    def scanned(self, invited: Invited) -> str:
        """Return the link that is scanned: it holds a token that counts once, not a key."""
        return f"{self.base}{ENTRANCE}?once={invited.token}"

    def words(self, *, drawn: bool = True) -> str:
        """Return what is printed at the start; ``drawn``: with the QR code."""
        invited = self.invitation.open()
        if invited is None:
            return ""
        scan = f" scan this:\n\n{qr_lines(self.scanned(invited))}\n\nor" if drawn else ""
        minutes = VALID_S // 60
        return f"""\
On your phone, in the same network,{scan} type this address, and then the code {spaced(invited.code)}:
  {self.base}
Either lets one phone in, within {minutes} minutes. The page of this computer has a new
code for the next one, under "Phones and calendar".

For the rest of the household, to read only:
  {self.reading}
For a phone's calendar, to subscribe to:
  {self.calendar}

{fill(EXPOSED, WIDTH)}
No answer on the phone? A firewall on this computer may keep port {self.port} closed."""


def spaced(code: str) -> str:
    """Return a code as it is read aloud, like 482 913."""
    return f"{code[:3]} {code[3:]}"


def home_address() -> str | None:
    """Return this computer's address in the network by which it would reach others, None if it has none.

    Nothing is sent: the system only says which address it would send from.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(_ELSEWHERE)
        except OSError:
            return None
        address: str = asked.getsockname()[0]
    return address if is_address(address) else None


def is_address(text: str) -> bool:
    """Return whether a text is an address that a computer can have in a network, like 192.168.1.20."""
    try:
        address = ipaddress.IPv4Address(text)
    except ValueError:
        return False
    return not (address.is_loopback or address.is_unspecified or address.is_multicast or address.is_reserved)


def is_at_home(address: str) -> bool:
    """Return whether an address is one of a network of one's own: it cannot be reached from the internet."""
    return not ipaddress.IPv4Address(address).is_global


def qr_lines(link: str) -> str:
    """Return a link as a QR code of block characters, two rows a line; light blocks on a dark ground.

    Both colours are set, so that it looks the same in a light and a dark terminal. The quiet zone is the one
    that the standard asks for: four modules (ISO/IEC 18004:2015, 6.3.8).
    """
    rows = [[bool(module) for module in row] for row in _qr(link).matrix_iter(border=4)]
    blank = [False] * len(rows[0])
    pairs = zip(rows[::2], [*rows[1::2], blank], strict=False)
    signs = {(False, False): _BOTH, (False, True): _UPPER, (True, False): _LOWER, (True, True): _NONE}
    return "\n".join(
        _PAINTED.format("".join(signs[pair] for pair in zip(*two, strict=True))) for two in pairs
    )


def qr_picture(link: str) -> str:
    """Return a link as a QR code in SVG, dark on light in a dark page too."""
    picture: str = _qr(link).svg_inline(scale=5, border=4, light="#fff", dark="#000", omitsize=True)
    return picture


def can_draw() -> bool:
    """Return whether the terminal has block characters."""
    try:
        (_UPPER + _LOWER + _BOTH).encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def _qr(link: str) -> "QRCode":
    import segno

    return segno.make_qr(link, error="l", boost_error=True)

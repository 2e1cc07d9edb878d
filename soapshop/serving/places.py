"""Where the workshop is found, and how that is said in a terminal."""

import io
import socket
from dataclasses import dataclass

import segno
from django.core.management.base import OutputWrapper
from django.urls import reverse

from soapshop.network import lan_address

EVERYWHERE = {"0.0.0.0", "::"}  # noqa: S104
THIS_COMPUTER = {"localhost", "127.0.0.1", "::1"}
WHITE_ON_BLACK, PLAIN = "\033[97;40m", "\033[0m"


@dataclass(frozen=True)
class Addresses:
    """Where the workshop is found. `phone` is empty if it is served to this computer only, `secure` if no
    phone would find it there or nothing is served over TLS.
    """

    computer: str
    phone: str
    secure: str = ""

    @property
    def first_on_a_phone(self) -> str:
        """Where a phone that is new here begins: it does not trust the secure address yet."""
        return f"{self.phone}{reverse('core:connect')}" if self.secure else self.phone


def addresses(host: str, port: int, tls_port: int | None = None) -> Addresses:
    """The addresses to type, for the address and ports that are listened on."""
    if host in THIS_COMPUTER:
        return Addresses(url(host, port), "")
    computer = phone = host
    if host in EVERYWHERE:
        lan = lan_address()
        computer, phone = "localhost", f"{socket.gethostname()}.local" if lan in THIS_COMPUTER else lan
    secure = url(phone, tls_port, scheme="https") if tls_port else ""
    return Addresses(url(computer, port), url(phone, port), secure)


def url(host: str, port: int, *, scheme: str = "http") -> str:
    """scheme://host:port, with an IPv6 address in brackets."""
    return f"{scheme}://[{host}]:{port}" if ":" in host else f"{scheme}://{host}:{port}"


def qr_code(address: str, *, colours: bool) -> str:
    """The address as a QR code of half-block characters, two modules to a line.

    It is drawn light on dark; `colours` makes sure of that in a terminal with a white background.
    """
    drawing = io.StringIO()
    segno.make_qr(address, error="l").terminal(out=drawing, border=2, compact=True)
    lines = drawing.getvalue().splitlines()
    return "\n".join(f"  {WHITE_ON_BLACK}{line}{PLAIN}" if colours else f"  {line}" for line in lines)


def announce(found: Addresses, out: OutputWrapper, *, fingerprint: str = "") -> None:
    """Print the addresses, a QR code of the one for a phone, and what it is to compare."""
    out.write(f"\n  On this computer:  {found.computer}")
    if not found.phone:
        out.write("  Served to this computer only.")
        return
    out.write(f"  On a phone:        {found.phone}   (in the same network)\n\n", ending="")
    try:
        out.write(qr_code(found.first_on_a_phone, colours=out.isatty()))
    except UnicodeEncodeError:
        out.write("  (This terminal cannot draw the QR code.)")
    if found.secure:
        out.write(
            f"\n  The code leads to the page that connects a phone to the secure address, where it also works"
            f"\n  without network:   {found.secure}"
            "\n  Fingerprint (SHA-256) of the workshop's authority, to compare with what the phone shows:\n"
        )
        out.write("\n".join(f"    {line}" for line in fingerprint.splitlines()))

"""Whole addresses, for what leaves the browser: printed codes and calendars."""

from __future__ import annotations

from dataclasses import dataclass

from django.conf import settings
from django.http import HttpRequest

from soapshop.network import lan_address

THIS_COMPUTER = ("localhost", "127.0.0.1", "[::1]")


@dataclass(frozen=True, slots=True)
class Address:
    """Scheme, host and port. `settled` is one that the workshop has chosen to keep, by SOAPSHOP_ADDRESS."""

    root: str
    settled: bool

    @property
    def is_reachable(self) -> bool:
        """Whether another device can open it."""
        host, _ = _split(self.root.partition("://")[2])
        return host not in THIS_COMPUTER

    def of(self, path: str) -> str:
        return f"{self.root}{path}"


def workshop_address(request: HttpRequest) -> Address:
    """Where others find the workshop: at SOAPSHOP_ADDRESS, else where the page itself was asked for.

    No phone finds 'localhost', so this computer's address in the network stands for it.
    """
    if settings.PUBLIC_ADDRESS:
        return Address(settings.PUBLIC_ADDRESS, settled=True)
    host, port = _split(request.get_host())
    if host in THIS_COMPUTER:
        host = lan_address()
    return Address(f"{request.scheme}://{host}{port}", settled=False)


def _split(host_and_port: str) -> tuple[str, str]:
    """'[::1]:8000' into '[::1]' and ':8000'."""
    host, colon, port = host_and_port.rpartition(":")
    return (host, f":{port}") if colon and port.isdecimal() else (host_and_port, "")


@dataclass(frozen=True, slots=True)
class Place:
    """Where a page was asked for, as a browser judges it, and the addresses for a phone.

    `is_trusted`: browsers allow here what they keep for secure pages, such as working without network.
    `secure`: where they do; "" if nowhere. `plain`: where a phone begins that trusts nothing yet.
    """

    is_trusted: bool
    secure: str
    plain: str


def is_trusted(request: HttpRequest) -> bool:
    """By https, or on this very computer (W3C, Secure Contexts, 3.1)."""
    return request.is_secure() or _split(request.get_host())[0] in THIS_COMPUTER


def place_of(request: HttpRequest) -> Place:
    """The place of a page that is asked for."""
    host, port = _split(request.get_host())
    if host in THIS_COMPUTER:
        host = lan_address()
    here = f"{request.scheme}://{host}{port}"
    if request.is_secure():
        secure = here
    elif settings.SECURE_PORT:
        secure = f"https://{host}:{settings.SECURE_PORT}"
    else:
        secure = settings.PUBLIC_ADDRESS if settings.PUBLIC_ADDRESS.startswith("https:") else ""
    plain = f"http://{host}:{settings.PLAIN_PORT}" if settings.PLAIN_PORT else here
    return Place(is_trusted(request), secure, plain)

"""What `serve` and `demo` have in common."""

from abc import ABC, abstractmethod
from argparse import ArgumentParser, ArgumentTypeError
from typing import Any

from django.conf import settings
from django.core.management import BaseCommand, CommandError, call_command

from inventory.services.reference import load_catalogue
from soapshop.authority import Authority, AuthorityUnusable, names_to_sign
from soapshop.environment import allowed_hosts
from soapshop.network import own_names
from soapshop.serving.places import EVERYWHERE, THIS_COMPUTER, addresses, announce
from soapshop.serving.secure import ServerCertificate
from soapshop.serving.server import Secure, listen, serve_until_stopped
from soapshop.serving.static import collect_static_files


class ServingCommand(BaseCommand, ABC):
    """A command that makes a workshop ready and serves it."""

    def add_arguments(self, parser: ArgumentParser) -> None:
        everywhere = "0.0.0.0"  # noqa: S104 - phones in the workshop are meant to reach it
        parser.add_argument(
            "--port", type=port_number, default=8000, help="8000 if not given; 0 for any free one"
        )
        parser.add_argument("--host", default=everywhere, help=f"{everywhere} if not given: all networks")
        parser.add_argument(
            "--tls-port",
            type=port_number,
            default=8443,
            help="for the secure address; 8443 if not given, 0 for any free one",
        )
        parser.add_argument("--no-tls", action="store_true", help="without a secure address")
        parser.add_argument("--data", metavar="DIR", help="the folder for database, photos and secret key")
        parser.add_argument("--no-serve", action="store_true", help="make everything ready, then stop")

    def handle(
        self, *, host: str, port: int, tls_port: int, no_tls: bool, no_serve: bool, **options: Any
    ) -> None:
        plain = None if no_serve else listen(host, port)
        self.make_ready(**options)
        if not plain:
            self.stdout.write(self.way_in())
            return
        answer_to(host)
        secure = None if no_tls or needs_none(host) else self.secure(host, tls_port)
        settings.PLAIN_PORT = plain.getsockname()[1]
        settings.SECURE_PORT = secure.listener.getsockname()[1] if secure else 0
        self.announce(host)
        serve_until_stopped(plain, secure)
        self.stdout.write("Stopped. Everything is saved.")

    def make_ready(self, **options: Any) -> None:
        """Bring database, catalogue and static files up to date. Doing it again changes nothing."""
        call_command("migrate", verbosity=0, interactive=False)
        load_catalogue()
        collect_static_files()

    def secure(self, host: str, port: int) -> Secure | None:
        """What the secure address needs. All else works without, so what stands against it is only said."""
        try:
            authority = Authority(settings.TLS_DIR)
            secure = Secure(listen(host, port, option="--tls-port"), ServerCertificate(authority, names_now))
        except (AuthorityUnusable, CommandError) as problem:
            self.stderr.write(f"There is no secure address this time. {problem}")
            return None
        if refused := authority.refused():
            self.stderr.write(
                f"The secure address is not good for {', '.join(refused)}: the workshop's authority was made "
                f"before. To add it, delete {authority.folder}, start again and connect every phone again."
            )
        return secure

    def announce(self, host: str) -> None:
        """Where the workshop is found, how to get in, and how to stop it."""
        fingerprint = Authority(settings.TLS_DIR).fingerprint() if settings.SECURE_PORT else ""
        found = addresses(host, settings.PLAIN_PORT, settings.SECURE_PORT)
        announce(found, self.stdout, fingerprint=fingerprint)
        self.stdout.write(self.way_in())
        self.stdout.write("\n  Ctrl-C stops it.")
        self.stdout.flush()

    @abstractmethod
    def way_in(self) -> str:
        """How the first person signs in; empty if they know."""


def port_number(text: str) -> int:
    """0 to 65535, where 0 takes any free port."""
    if not (text.isdecimal() and int(text) <= 65535):
        raise ArgumentTypeError(f"{text} is no port; a port is a number from 1 to 65535, such as 8080")
    return int(text)


def needs_none(host: str) -> bool:
    """A proxy has a certificate of its own, and browsers take this very computer for secure as it is."""
    return bool(settings.SECURE_PROXY_SSL_HEADER) or host in THIS_COMPUTER


def answer_to(host: str) -> None:
    """Let the app answer under the address that it is told to listen on."""
    if host not in EVERYWHERE:
        hosts = [*settings.ALLOWED_HOSTS, f"[{host}]" if ":" in host else host]
        settings.ALLOWED_HOSTS = list(dict.fromkeys(hosts))


def names_now() -> list[str]:
    """The names for the certificate. A computer that came into another network answers to its new address."""
    settings.ALLOWED_HOSTS = list(dict.fromkeys([*settings.ALLOWED_HOSTS, *allowed_hosts()]))
    return names_to_sign([*own_names(), *settings.ALLOWED_HOSTS])

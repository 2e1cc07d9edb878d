"""Certificates (X.509, RFC 5280) for the workshop's own network, made in memory; they keep no files.

Three make a chain. Phones are told to trust the *root*. Its key signs once, the *issuer*, and is then thrown
away. The issuer's key is kept, and signs the *server*'s certificate, anew about once a year.

Why two and not one: the issuer may sign only for this machine's names and for private networks (name
constraints, RFC 5280, 4.2.1.10). On the root itself, RFC 5280 (6.1) leaves it to each phone whether to heed
such a limit; below the root all must. So whoever gets hold of the kept key cannot pose as a bank or a shop.

Checked here: OpenSSL and Chromium refuse a name outside the limit. From memory, not checked: Android and iOS
have heeded name constraints of an issuer for years.

`cryptography` takes 19 MB and is needed about once a year, so this module is imported only then.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_address, ip_network

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric.ec import (
    SECP256R1,
    EllipticCurvePrivateKey,
    generate_private_key,
)
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

TEN_YEARS = timedelta(days=3652)
# iOS takes at most 825 days from an authority that its owner added (Apple, "Requirements for trusted
# certificates in iOS 13 and macOS 10.15") and 398 from others; both from memory. This keeps to the stricter.
SERVER_LIFE = timedelta(days=397)
CLOCKS_DIFFER = timedelta(days=1)  # a phone whose clock is a little behind must not see it as not yet valid

# Networks that never lead to the open internet, and names that are never found there.
PRIVATE_NETWORKS = [
    "127.0.0.0/8",  # RFC 1122: this machine
    "10.0.0.0/8",  # RFC 1918: private networks
    "172.16.0.0/12",
    "192.168.0.0/16",
    "169.254.0.0/16",  # RFC 3927: a cable without a router
    "100.64.0.0/10",  # RFC 6598: behind a provider's address, and private tunnels
    "::1/128",  # RFC 4291: this machine
    "fc00::/7",  # RFC 4193: private networks
    "fe80::/10",  # RFC 4291: one cable
]
PRIVATE_NAMES = ["localhost", "local", "home.arpa"]  # RFC 6761, RFC 6762, RFC 8375
LONGEST_COMMON_NAME = 64  # X.520, ub-common-name


@dataclass(frozen=True)
class NewAuthority:
    """PEM texts: the root's certificate, and the issuer's key with its certificate."""

    root: str
    issuer: str


def make_authority(*, name: str, names: list[str], now: datetime) -> NewAuthority:
    """A root and an issuer for ten years. `names` are host names and addresses that the issuer may sign for,
    besides private networks; `name` is what a phone's settings show.
    """
    root_key, issuer_key = (generate_private_key(SECP256R1()) for _ in range(2))
    until = now + TEN_YEARS
    root_name, issuer_name = _called(name), _called(f"{name}, issuer")
    root = _ca(_draft(root_name, root_name, root_key, now, until), root_key, below=1)
    issuer = (
        _ca(_draft(issuer_name, root_name, issuer_key, now, until), issuer_key, below=0)
        .add_extension(_signed_by(root_key), critical=False)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(_limits(names), critical=True)
    )
    return NewAuthority(
        root=_text(root.sign(root_key, SHA256())),
        issuer=_key_text(issuer_key) + _text(issuer.sign(root_key, SHA256())),
    )


@dataclass(frozen=True)
class NewCertificate:
    """`pem` holds the server's key, its certificate and the issuer's; valid until `until`.

    `refused` are the names that the issuer may not sign for.
    """

    pem: str
    until: datetime
    refused: list[str]


def make_certificate(*, issuer: str, names: list[str], now: datetime) -> NewCertificate:
    """A certificate for the server under these names and addresses, by the issuer's PEM text.

    Raises ValueError if that text is damaged, or if the issuer may not sign for any of the names.
    """
    issuer_key = load_pem_private_key(issuer.encode(), None)
    issuer_certificate = x509.load_pem_x509_certificate(issuer.encode())
    if not isinstance(issuer_key, EllipticCurvePrivateKey):
        raise ValueError("The issuer's key is of another kind.")
    allowed = [name for name in names if _may_sign_for(issuer_certificate, name)]
    key = generate_private_key(SECP256R1())
    until = min(now - CLOCKS_DIFFER + SERVER_LIFE, issuer_certificate.not_valid_after_utc)
    draft = (
        _draft(_called("soapshop"), issuer_certificate.subject, key, now, until)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName([_general(name) for name in allowed]), critical=False)
        .add_extension(_signed_by(issuer_key), critical=False)
    )
    certificate = draft.sign(issuer_key, SHA256())
    return NewCertificate(
        pem=_key_text(key) + _text(certificate) + _text(issuer_certificate),
        until=until,
        refused=[name for name in names if name not in allowed],
    )


def _called(name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name[:LONGEST_COMMON_NAME])])


def _draft(
    subject: x509.Name, issuer: x509.Name, key: EllipticCurvePrivateKey, now: datetime, until: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - CLOCKS_DIFFER)
        .not_valid_after(until)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _ca(
    draft: x509.CertificateBuilder, key: EllipticCurvePrivateKey, *, below: int
) -> x509.CertificateBuilder:
    """It may sign certificates, with so many further authorities below it."""
    return draft.add_extension(
        x509.BasicConstraints(ca=True, path_length=below), critical=True
    ).add_extension(_usage(signs_certificates=True), critical=True)


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _signed_by(key: EllipticCurvePrivateKey) -> x509.AuthorityKeyIdentifier:
    return x509.AuthorityKeyIdentifier.from_issuer_public_key(key.public_key())


def _limits(names: list[str]) -> x509.NameConstraints:
    """Private networks and names, and what this machine is called."""
    networks = [ip_network(network) for network in PRIVATE_NETWORKS]
    for name in names:
        address = _address(name)
        if address and not any(address in network for network in networks):
            networks.append(ip_network(address))
    domains = dict.fromkeys([*PRIVATE_NAMES, *(_domain(name) for name in names if not _address(name))])
    permitted = [*map(x509.DNSName, domains), *map(x509.IPAddress, networks)]
    return x509.NameConstraints(permitted_subtrees=permitted, excluded_subtrees=None)


def _may_sign_for(issuer: x509.Certificate, name: str) -> bool:
    limits = issuer.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees or []
    if address := _address(name):
        networks = [limit.value for limit in limits if isinstance(limit.value, IPv4Network | IPv6Network)]
        return any(address in network for network in networks)
    domains = [limit.value for limit in limits if isinstance(limit, x509.DNSName)]
    return any(f".{_domain(name)}".endswith(f".{domain}") for domain in domains)


def _general(name: str) -> x509.GeneralName:
    address = _address(name)
    return x509.IPAddress(address) if address else x509.DNSName(name)


def _address(name: str) -> IPv4Address | IPv6Address | None:
    try:
        return ip_address(name)
    except ValueError:
        return None


def _domain(name: str) -> str:
    """'*.soap.example' is a pattern for what lies below 'soap.example'."""
    return name.removeprefix("*.")


def _text(certificate: x509.Certificate) -> str:
    return certificate.public_bytes(Encoding.PEM).decode()


def _key_text(key: EllipticCurvePrivateKey) -> str:
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()).decode()

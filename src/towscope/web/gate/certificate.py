"""A private authority with name constraints, and its certificate: how a phone knows the boat.

A phone gives a page its position, and lets it work with no network, only over https. No public
authority can vouch for an address on a boat's network, so the boat makes an authority of its own,
once, and with it a certificate for the addresses it has now. Who installs the authority on a phone
sees no warning; who does not is warned once, and rightly: until the code is typed, nothing but the
network itself says that this is the boat.

The authority may vouch for private addresses and ``.local`` names only (name constraints, RFC 5280
section 4.2.1.10): whoever stole its key could not use it to pose as a bank.
"""

from __future__ import annotations

import ipaddress
import ssl
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Final

from towscope.errors import InputError
from towscope.files import write_whole

AUTHORITY_DAYS: Final = 3650
LASTS_DAYS: Final = 397  # phones refuse what is valid for longer (825 days at the utmost)
RENEW_DAYS: Final = 30
PRIVATE: Final = (
    "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8",
    "100.64.0.0/10", "fc00::/7", "fe80::/10",
)  # fmt: skip


class Certificate:
    """The boat's authority and its certificate, kept in a folder that only the user may read.

    Parameters
    ----------
    folder : Path
        Where they are kept; made where there is none.

    Raises
    ------
    InputError
        Where the folder cannot be written or holds what is no certificate.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._authority = folder / "authority.pem"
        self._authority_key = folder / "authority-key.pem"
        self._server = folder / "server.pem"
        try:
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        except OSError as error:
            raise InputError(f"cannot make {folder}: {error.strerror or error}") from None
        if not (self._authority.exists() and self._authority_key.exists()):
            _make_authority(self._authority, self._authority_key)
        self.names: tuple[str, ...] = ()
        self._context: ssl.SSLContext | None = None

    @property
    def authority_pem(self) -> bytes:
        """The authority's certificate, to be installed on a phone; no secret."""
        return self._authority.read_bytes()

    @property
    def fingerprint(self) -> str:
        """The authority's SHA-256 fingerprint, as phones show it."""
        from cryptography import x509
        from cryptography.hazmat.primitives.hashes import SHA256

        digest = x509.load_pem_x509_certificate(self.authority_pem).fingerprint(SHA256())
        return digest.hex(":").upper()

    def cover(self, names: Sequence[str]) -> bool:
        """Have a certificate for these addresses and names; True where a new one was made.

        A server that is running shows the new one to whoever connects next.
        """
        # One name outside what the authority may vouch for would spoil the whole certificate.
        wanted = tuple(sorted({"localhost", "127.0.0.1", *filter(_allowed, names)}))
        fresh = not _covers(self._server, wanted, self.authority_pem)
        if fresh:
            self._issue(wanted)
        if self._context is not None and (fresh or wanted != self.names):
            self._context.load_cert_chain(self._server)
        self.names = wanted
        return fresh

    def context(self) -> ssl.SSLContext:
        """Give what a server needs to speak https; `cover` must have been called."""
        if self._context is None:
            self._context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
            self._context.minimum_version = ssl.TLSVersion.TLSv1_2
            self._context.load_cert_chain(self._server)
        return self._context

    def _issue(self, names: Sequence[str]) -> None:
        import trustme

        try:
            authority = trustme.CA.from_pem(self.authority_pem, self._authority_key.read_bytes())
        except (OSError, ValueError, TypeError) as error:
            raise InputError(
                f"{self._authority_key} can't be used ({error}); remove the folder "
                f"{self._folder} to have a new one made, and install it on the phones again"
            ) from None
        now = datetime.now(UTC)
        leaf = authority.issue_cert(
            *names,
            organization_name="towscope",
            organization_unit_name="this boat",
            not_before=now - timedelta(days=2),  # the laptop's clock may be wrong on a boat
            not_after=now + timedelta(days=LASTS_DAYS - 2),
        )
        write_whole(self._server, leaf.private_key_and_cert_chain_pem.bytes(), private=True)


def _make_authority(certificate: Path, key_file: Path) -> None:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    now = datetime.now(UTC)
    name = x509.Name(
        [
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, "towscope"),
            x509.NameAttribute(NameOID.COMMON_NAME, f"towscope on this boat {now:%Y-%m-%d}"),
        ]
    )
    allowed: list[x509.GeneralName] = [
        x509.IPAddress(ipaddress.ip_network(each)) for each in PRIVATE
    ]
    allowed += [x509.DNSName("localhost"), x509.DNSName("local")]
    usage = x509.KeyUsage(
        digital_signature=True,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=True,
        crl_sign=True,
        encipher_only=False,
        decipher_only=False,
    )
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=2))
        .not_valid_after(now + timedelta(days=AUTHORITY_DAYS))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(allowed, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    secret = key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    write_whole(key_file, secret, private=True)
    write_whole(certificate, made.public_bytes(serialization.Encoding.PEM), private=True)


def _allowed(name: str) -> bool:
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        return name == "localhost" or name.endswith(".local")
    nets = map(ipaddress.ip_network, PRIVATE)
    return any(address in net for net in nets if net.version == address.version)


def _covers(server: Path, names: Sequence[str], authority_pem: bytes) -> bool:
    """Tell whether the certificate that is kept will do: these names, this authority, and time."""
    from cryptography import x509
    from cryptography.exceptions import InvalidSignature

    try:
        kept = x509.load_pem_x509_certificate(_certificate_part(server.read_bytes()))
        kept.verify_directly_issued_by(x509.load_pem_x509_certificate(authority_pem))
        told = kept.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (OSError, ValueError, TypeError, InvalidSignature, x509.ExtensionNotFound):
        return False
    has = {str(each.value) for each in told}
    now = datetime.now(UTC)
    ends = kept.not_valid_after_utc
    return has == set(names) and kept.not_valid_before_utc <= now < ends - timedelta(RENEW_DAYS)


def _certificate_part(pem: bytes) -> bytes:
    return pem[max(0, pem.find(b"-----BEGIN CERTIFICATE-----")) :]

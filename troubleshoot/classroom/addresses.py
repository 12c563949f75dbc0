"""Where a class is found on the network, as text and as a QR code, and a certificate of its own for TLS."""

from __future__ import annotations

import contextlib
import hashlib
import io
import ipaddress
import os
import shutil
import socket
import ssl
import subprocess
import sys
from pathlib import Path

from troubleshoot.problems import TroubleshootError

DAYS = 90
"""Days for which a self-made certificate holds: a term."""
OUTSIDE = "192.0.2.1"
"""An address of RFC 5737 that nobody has; asking by which way it is reached sends nothing."""


class AddressRefused(TroubleshootError):
    """The address cannot be given so."""


def is_loopback(host: str) -> bool:
    """Return whether an address can be reached from this computer only."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def addresses(host: str, port: int, tls: bool = False) -> tuple[str, ...]:
    """Return the addresses that a trainee opens; where every address is listened on, those of this computer.

    >>> addresses("192.0.2.7", 8080)
    ('http://192.0.2.7:8080',)
    """
    scheme = "https" if tls else "http"
    names = own_addresses() if host in ("0.0.0.0", "::", "") else (host,)
    return tuple(f"{scheme}://{f'[{name}]' if ':' in name else name}:{port}" for name in names)


def own_addresses() -> tuple[str, ...]:
    """Return the IPv4 addresses under which others reach this computer, the likeliest first; its name at worst."""
    found: list[str] = []
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        way.connect((OUTSIDE, 9))
        found.append(way.getsockname()[0])
    with contextlib.suppress(OSError):
        found += [str(one[4][0]) for one in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)]
    return tuple(dict.fromkeys(one for one in found if not is_loopback(one))) or (socket.gethostname(),)


def qr_lines(address: str) -> tuple[str, ...]:
    """Return an address as a QR code (ISO/IEC 18004) in lines of half blocks; in words where segno is not installed."""
    try:
        import segno
    except ImportError:
        return (f"A QR code needs segno: {sys.executable} -m pip install segno",)
    out = io.StringIO()
    segno.make(address, error="m").terminal(out, compact=True)
    return tuple(out.getvalue().splitlines())


def certificate(into: Path) -> tuple[Path, Path]:
    """Return certificate and key of a class, made by OpenSSL when there are none; AddressRefused without it."""
    chain, key = into / "certificate.pem", into / "certificate.key"
    if chain.is_file() and key.is_file():
        return chain, key
    program = shutil.which("openssl")
    if program is None:
        raise AddressRefused(
            "TLS needs the command openssl, which is not here.", "Install OpenSSL, or leave out --tls."
        )
    names = ",".join(f"IP:{one}" if one[0].isdigit() else f"DNS:{one}" for one in (*own_addresses(), "127.0.0.1"))
    unfinished = into / ".certificate.key.unfinished"
    unfinished.touch(mode=0o600)
    made = subprocess.run(
        [
            program, "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes",
            "-keyout", str(unfinished), "-out", str(chain), "-days", str(DAYS), "-subj", "/CN=class",
            "-addext", f"subjectAltName={names},DNS:localhost",
        ],
        capture_output=True, text=True, check=False, timeout=60, env={**os.environ, "RANDFILE": os.devnull},
    )  # fmt: skip
    if made.returncode != 0:
        unfinished.unlink(missing_ok=True)
        said = (made.stderr.strip().splitlines() or ["it said nothing"])[-1]
        raise AddressRefused(f"OpenSSL made no certificate: {said[:200]}.", "Leave out --tls.")
    unfinished.replace(key)
    key.chmod(0o600)
    return chain, key


def fingerprint(chain: Path) -> str:
    """Return the SHA-256 fingerprint of a certificate, as browsers show it."""
    plain = ssl.PEM_cert_to_DER_cert(chain.read_text(encoding="ascii"))
    digest = hashlib.sha256(plain).hexdigest().upper()
    return ":".join(digest[place : place + 2] for place in range(0, len(digest), 2))

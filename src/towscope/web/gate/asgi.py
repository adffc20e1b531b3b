"""What do the gate's parts share: how a header is read, and how a plain refusal is sent."""

from __future__ import annotations

import asyncio
import ipaddress
import json
from typing import Final

from starlette.types import Receive, Scope, Send

WRITES: Final = frozenset({"POST", "PUT", "PATCH", "DELETE"})
READS: Final = frozenset({"GET", "HEAD", "OPTIONS"})
_LOCAL_NAMES: Final = frozenset({"localhost", "127.0.0.1", "::1"})


def header(scope: Scope, name: bytes) -> str | None:
    """Give a header's value, or None; where it comes twice, both, so that it matches nothing."""
    found = [value for key, value in scope["headers"] if key == name]
    return ", ".join(value.decode("latin-1") for value in found) if found else None


def host_of(scope: Scope) -> str | None:
    """Give the name in the Host header, lower case, without its port; None where it is no name."""
    told = header(scope, b"host")
    if told is None:
        return None
    name = told.strip().lower()
    if name.startswith("["):
        name, closed, rest = name[1:].partition("]")
        if not closed or (rest and not _is_port(rest)):
            return None
        return name
    name, colon, port = name.partition(":")
    if colon and not _is_port(colon + port):
        return None
    return name or None


def _is_port(text: str) -> bool:
    return text.startswith(":") and text[1:].isascii() and text[1:].isdigit() and len(text) <= 6


def address_of(scope: Scope) -> str:
    """Give the address that a request comes from: whole for IPv4, the /64 for IPv6.

    A machine has one IPv4 address on the boat's network, but may have any number of IPv6 ones.
    """
    client = scope.get("client")
    if not client:
        return "?"
    try:
        address = ipaddress.ip_address(str(client[0]).partition("%")[0])
    except ValueError:
        return str(client[0])
    if isinstance(address, ipaddress.IPv6Address):
        if address.ipv4_mapped is not None:
            return str(address.ipv4_mapped)
        if not address.is_loopback:
            return str(ipaddress.ip_network((address, 64), strict=False).network_address)
    return str(address)


def is_local(scope: Scope) -> bool:
    """Tell whether a request comes from this very machine and was meant for it.

    Both must hold: what a tunnel or a proxy on this machine passes on comes from here too, but
    names another host.
    """
    try:
        here = ipaddress.ip_address(address_of(scope)).is_loopback
    except ValueError:
        return False
    return here and host_of(scope) in _LOCAL_NAMES


def is_local_name(name: str | None) -> bool:
    """Tell whether a host name means "this machine" on any machine."""
    return name in _LOCAL_NAMES


async def refuse(
    send: Send, status: int, why: str, headers: tuple[tuple[bytes, bytes], ...] = ()
) -> None:
    """Answer with the one line that says what is wrong."""
    body = json.dumps({"error": why}, ensure_ascii=False).encode()
    await answer(send, status, body, b"application/json", headers)


async def answer(
    send: Send,
    status: int,
    body: bytes,
    kind: bytes,
    headers: tuple[tuple[bytes, bytes], ...] = (),
) -> None:
    """Send a whole answer."""
    await send(
        {
            "type": "http.response.start",
            "status": status,
            "headers": [
                (b"content-type", kind),
                (b"content-length", str(len(body)).encode()),
                *headers,
            ],
        }
    )
    await send({"type": "http.response.body", "body": body})


async def read_body(receive: Receive, limit: int, wait_s: float = 20.0) -> bytes | None:
    """Read a small body whole; None where it is larger than `limit`, breaks off or dawdles."""
    body = b""
    try:
        async with asyncio.timeout(wait_s):
            while len(body) <= limit:
                message = await receive()
                if message["type"] != "http.request":
                    return None
                body += bytes(message.get("body", b""))
                if not message.get("more_body", False):
                    return body if len(body) <= limit else None
    except TimeoutError:
        pass
    return None

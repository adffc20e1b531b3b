"""Shared by the gate's parts: who asks, for which host, a small body read, a plain refusal."""

from __future__ import annotations

import asyncio
import ipaddress
from typing import Final

from starlette.datastructures import Headers
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response
from starlette.types import Scope

WRITES: Final = frozenset({"POST", "PUT", "PATCH", "DELETE"})
READS: Final = frozenset({"GET", "HEAD", "OPTIONS"})
_LOCAL_NAMES: Final = frozenset({"localhost", "127.0.0.1", "::1"})


def header(scope: Scope, name: str) -> str | None:
    """Give a header's value, or None; where it comes twice, both, so that it matches nothing."""
    found = Headers(scope=scope).getlist(name)
    return ", ".join(found) if found else None


def host_of(scope: Scope) -> str | None:
    """Give the name in the Host header, lower case, without its port; None where it is no name."""
    told = header(scope, "host")
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


def refusal(status: int, why: str, **headers: str) -> Response:
    """Give the answer whose one line says what is wrong; of a header's name, _ stands for -."""
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return JSONResponse({"error": why}, status, named)


async def read_body(request: Request, limit: int, wait_s: float = 20.0) -> bytes | None:
    """Read a small body whole; None where it is larger than `limit`, breaks off or dawdles."""
    body = b""
    try:
        async with asyncio.timeout(wait_s):
            async for piece in request.stream():
                body += piece
                if len(body) > limit:
                    return None
    except (TimeoutError, ClientDisconnect):
        return None
    return body

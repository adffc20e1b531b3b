"""Addresses and names of this machine on the boat's network."""

from __future__ import annotations

import ipaddress
import re
import socket
import time
from collections.abc import Callable
from typing import Final

AGAIN_S: Final = 10.0  # the network is looked at no more often than this [s]


def lan_addresses() -> list[str]:
    """Give the machine's IPv4 addresses that a phone may reach, the likeliest first.

    Those of the usual home and boat networks come first; addresses that a machine gives itself
    where nobody gives it one (169.254...) and loopback are left out.
    """
    import psutil

    found: list[ipaddress.IPv4Address] = []
    up = {name for name, how in psutil.net_if_stats().items() if how.isup}
    for name, addresses in sorted(psutil.net_if_addrs().items(), key=lambda pair: _rank(pair[0])):
        for each in addresses:
            if name in up and each.family == socket.AF_INET:
                address = ipaddress.IPv4Address(each.address)
                if not (address.is_loopback or address.is_link_local) and address not in found:
                    found.append(address)
    first = _outward()
    return sorted(map(str, found), key=lambda text: text != first)


def _rank(interface: str) -> tuple[bool, str]:
    """Put the bridges that programs make for themselves last: no phone is on them."""
    made = re.match(r"(docker|br-|veth|virbr|vmnet|vboxnet|tun|tap|utun)", interface)
    return made is not None, interface


def _outward() -> str | None:
    """Give the address that this machine would send from; nothing is sent."""
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737)
            return str(probe.getsockname()[0])
    except OSError:  # no way out: usual on a boat
        return None


def machine_names() -> list[str]:
    """Give the machine's own name, bare and as the network's name service gives it out."""
    name = socket.gethostname().split(".", 1)[0].lower()
    if not re.fullmatch(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?", name) or name == "localhost":
        return []
    return [f"{name}.local", name]


class Names:
    """Which host names are this machine's, looked at again when one is asked for that is not.

    Parameters
    ----------
    lan : bool
        Whether the app is to be reached from the network at all.
    addresses, clock : callable
        Where they come from; others in tests.
    """

    def __init__(
        self,
        lan: bool,
        addresses: Callable[[], list[str]] | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._lan, self._addresses, self._clock = lan, addresses or lan_addresses, clock
        self._looked: float | None = None
        self._known: list[str] = []

    def current(self) -> list[str]:
        """Give addresses and names by which the network knows this machine, likeliest first."""
        if not self._lan:
            return []
        now = self._clock()
        if self._looked is None or now - self._looked >= AGAIN_S:
            self._looked = now
            self._known = [*self._addresses(), *machine_names()]
        return self._known

    def __call__(self, name: str) -> bool:
        """Tell whether a host name is this machine's."""
        if name in ("localhost", "127.0.0.1", "::1"):
            return True
        return name in self.current()

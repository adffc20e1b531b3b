"""Phones that are paired, by hashes of their secrets, so that a theft of the file tells nothing.

A phone holds 256 random bits; here only their SHA-256 is kept, in a file that only the user may
read. (No salt and no slow hash: nobody can guess 256 bits, however fast.)
"""

from __future__ import annotations

import hashlib
import json
import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any, Final

from towscope.errors import InputError, one_line
from towscope.files import write_whole

LASTS_S: Final = 366 * 86_400.0  # since it was last seen: from one season to the next
SEEN_S: Final = 3600.0  # written down no more often than this [s]
MOST: Final = 40  # phones; the one that was not seen for longest goes
_FORMAT: Final = 1


@dataclass(frozen=True)
class Phone:
    """A phone that is paired.

    Attributes
    ----------
    id : str
        Its name here; no secret.
    secret_hash : str
        SHA-256 of what it holds.
    name : str
        What the crew calls it.
    paired_s, seen_s : float
        When it paired and was last seen, unix time [s].
    """

    id: str
    secret_hash: str
    name: str
    paired_s: float
    seen_s: float


class Sessions:
    """The phones that are aboard.

    Parameters
    ----------
    file : Path
        Where they are kept.
    clock : callable
        Unix time [s].
    """

    def __init__(self, file: Path, clock: Callable[[], float] = time.time) -> None:
        self._file, self._clock = file, clock
        self._lock = threading.Lock()
        self._phones = {phone.id: phone for phone in _read(file)}

    def add(self, name: str) -> str:
        """Take a phone aboard and give the secret that it must show from now on.

        Raises
        ------
        InputError
            Where it cannot be written down.
        """
        secret = secrets.token_urlsafe(32)
        now = self._clock()
        phone = Phone(
            secrets.token_hex(6), _hash(secret), one_line(name, 40).strip() or "phone", now, now
        )
        with self._lock:
            phones = {**self._phones, phone.id: phone}
            while len(phones) > MOST:
                del phones[min(phones.values(), key=lambda each: each.seen_s).id]
            self._keep(phones)
        return secret

    def find(self, secret: str | None) -> Phone | None:
        """Give the phone that holds this secret, or None."""
        if not secret or len(secret) > 200:
            return None
        hashed = _hash(secret)
        now = self._clock()
        with self._lock:
            for phone in self._phones.values():
                if secrets.compare_digest(phone.secret_hash, hashed):
                    break
            else:
                return None
            if now - phone.seen_s > LASTS_S:
                return None
            if now - phone.seen_s > SEEN_S:
                phone = replace(phone, seen_s=now)
                try:
                    self._keep({**self._phones, phone.id: phone})
                except InputError:  # a full disk must not put the crew ashore
                    self._phones[phone.id] = phone
        return phone

    def phones(self) -> list[Phone]:
        """List them, the one seen last first."""
        with self._lock:
            return sorted(self._phones.values(), key=lambda each: -each.seen_s)

    def remove(self, name: str) -> bool:
        """Put a phone ashore; False where there is none of this id."""
        with self._lock:
            if name not in self._phones:
                return False
            self._keep({key: each for key, each in self._phones.items() if key != name})
        return True

    def _keep(self, phones: dict[str, Phone]) -> None:
        told = {"format": _FORMAT, "phones": [asdict(phone) for phone in phones.values()]}
        self._file.parent.mkdir(parents=True, exist_ok=True)
        write_whole(self._file, json.dumps(told, indent=1).encode(), private=True)
        self._phones = phones


def _hash(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()


def _read(file: Path) -> list[Phone]:
    """Read them; a file that is damaged means pairing again, not an app that won't start."""
    try:
        told: Any = json.loads(file.read_text("utf-8"))
        return [
            Phone(
                str(each["id"]),
                str(each["secret_hash"]),
                str(each["name"]),
                float(each["paired_s"]),
                float(each["seen_s"]),
            )
            for each in told["phones"]
        ]
    except (OSError, ValueError, KeyError, TypeError):
        return []

"""Routes for the phones that are paired, and for letting another in."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from pydantic import BaseModel

from towscope.errors import InputError, NoAnswer, one_line

router = APIRouter(prefix="/api/pairing", tags=["pairing"])


class PairedPhone(BaseModel):
    """A phone that is aboard.

    Attributes
    ----------
    id, name : str
        What it is called here, and by the crew.
    paired_s, seen_s : float
        When it paired and was last seen, unix time [s].
    this : bool
        Whether it is the one that asks.
    """

    id: str
    name: str
    paired_s: float
    seen_s: float
    this: bool = False


class PairingNow(BaseModel):
    """How things stand.

    Attributes
    ----------
    lan : bool
        Whether phones may be let in at all: the app was started with ``--lan``.
    local : bool
        Whether it is the boat's own machine that asks.
    addresses : list of str
        What a phone opens, the likeliest first.
    code : str or None
        The code that is good now; told to the boat's own machine alone.
    left_s : float
        How much longer it is good for [s].
    phones : list of PairedPhone
        All of them for the boat's own machine, itself for a phone.
    """

    lan: bool
    local: bool
    addresses: list[str] = []
    code: str | None = None
    left_s: float = 0.0
    phones: list[PairedPhone] = []


def _gate(request: Request) -> Any:
    return getattr(request.app.state, "gate", None)


def _asks(request: Request) -> tuple[bool, str | None]:
    """Tell whether this machine asks, and else which phone; without a gate it is this machine."""
    who = request.scope.get("towscope.who")
    if who is None:
        return True, None
    return who.local, who.phone.id if who.phone is not None else None


@router.get("")
def pairing(request: Request) -> PairingNow:
    """Tell how things stand."""
    gate = _gate(request)
    local, own = _asks(request)
    if gate is None or gate.pairing is None or gate.sessions is None:
        return PairingNow(lan=False, local=local)
    code, left = gate.pairing.current() if local else ("", 0.0)
    return PairingNow(
        lan=True,
        local=local,
        addresses=gate.addresses(),
        code=code or None,
        left_s=left,
        phones=[
            PairedPhone(
                id=each.id,
                name=each.name,
                paired_s=each.paired_s,
                seen_s=each.seen_s,
                this=each.id == own,
            )
            for each in gate.sessions.phones()
            if local or each.id == own
        ],
    )


@router.post("/code")
def new_code(request: Request) -> PairingNow:
    """Make a new code; the boat's own machine alone may."""
    gate = _gate(request)
    if gate is None or gate.pairing is None:
        raise NoAnswer("no phone can be let in; start the app with `towscope serve --lan`")
    if not _asks(request)[0]:
        raise NoAnswer("a new code is made on the boat's own machine")
    gate.pairing.renew()
    return pairing(request)


@router.delete("/{phone}")
def put_ashore(phone: str, request: Request) -> PairingNow:
    """Put a phone ashore: the boat's own machine any, a phone only itself."""
    gate = _gate(request)
    local, own = _asks(request)
    if not local and phone != own:
        raise NoAnswer("another phone is removed on the boat's own machine")
    if gate is None or not gate.put_ashore(phone):
        raise InputError(
            f'no phone "{one_line(phone, 40)}" is connected; expected one from the list'
        )
    return pairing(request)

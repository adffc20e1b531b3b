"""Doorkeeper by address and secret: this machine is let in, and paired phones, nobody else.

On the laptop's own address nothing is asked for. Over the network the app answers only phones that
have typed the code; its own page to type it on is served here, before the app.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final
from urllib.parse import parse_qs

from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from towscope.errors import InputError, one_line
from towscope.web.gate import pages
from towscope.web.gate.addresses import Names
from towscope.web.gate.asgi import address_of, is_local, read_body, refusal
from towscope.web.gate.certificate import Certificate
from towscope.web.gate.pairing import ALPHABET, LENGTH, Pairing, tidy
from towscope.web.gate.sessions import LASTS_S, Phone, Sessions
from towscope.web.gate.streams import OWNER, Streams

# The prefix makes browsers insist on Secure, on this very host, on the whole site (RFC 6265bis).
COOKIE: Final = "__Host-towscope"
WHO: Final = "towscope.who"  # key of the scope under which the app finds who asks
_FORM_BYTES: Final = 2000
# What a browser fetches without its cookies when the app is put on the home screen.
_OPEN: Final = re.compile(r"/[^/]+\.(webmanifest|png|svg|ico)")


def _say_nothing(_: str) -> None:
    pass


@dataclass(frozen=True)
class Who:
    """Who asks.

    Attributes
    ----------
    local : bool
        Whether it is this very machine.
    phone : Phone or None
        The phone.
    """

    local: bool
    phone: Phone | None = None


@dataclass
class Gate:
    """What the gate keeps: the code, the phones, the names, the certificate.

    Attributes
    ----------
    names : Names
        What this machine is called.
    port : int
        Where phones reach it.
    pairing : Pairing or None
        The code; None where no phone is let in at all.
    sessions : Sessions or None
        The phones.
    certificate : Certificate or None
        The boat's certificate.
    streams : Streams
        The live pictures that are open.
    tell : callable
        Told, in a line, what the crew should know.
    """

    names: Names
    port: int = 0
    pairing: Pairing | None = None
    sessions: Sessions | None = None
    certificate: Certificate | None = None
    streams: Streams = field(default_factory=Streams)
    tell: Callable[[str], None] = _say_nothing

    def put_ashore(self, name: str) -> bool:
        """Unpair a phone and end its live picture; False where there is none of this id."""
        gone = self.sessions is not None and self.sessions.remove(name)
        if gone:
            self.streams.end(name)
        return gone

    def addresses(self) -> list[str]:
        """Give the addresses that a phone may open, the likeliest first."""
        return [f"https://{name}:{self.port}/" for name in self.names.current() if "." in name]


class Door:
    """Lets in who may come in, and serves the pages to pair on.

    Parameters
    ----------
    app : ASGIApp
        What is behind.
    gate : Gate
        What the gate keeps.
    """

    def __init__(self, app: ASGIApp, gate: Gate) -> None:
        self._app, self._gate = app, gate

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or ask for the code."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        request = Request(scope, receive)
        local = is_local(scope)
        path = str(scope["path"])  # as it came: a URL parsed anew may be another's
        if path == "/pair" or path.startswith("/pair/"):
            await (await self._pair(request, local))(scope, receive, send)
            return
        phone = None if local else self._phone(request)
        if not local and phone is None and not (request.method == "GET" and _OPEN.fullmatch(path)):
            await _turned_away(request)(scope, receive, send)
            return
        owner = phone.id if phone is not None else None
        await self._app({**scope, WHO: Who(local, phone), OWNER: owner}, receive, send)

    def _phone(self, request: Request) -> Phone | None:
        """Give the phone that asks, by its cookie; None where it has not paired."""
        sessions = self._gate.sessions
        return sessions.find(request.cookies.get(COOKIE)) if sessions is not None else None

    # -- the pages ---------------------------------------------------------------------------

    async def _pair(self, request: Request, local: bool) -> Response:
        path, method = str(request.scope["path"]), request.method
        gate = self._gate
        read = method in ("GET", "HEAD")
        if path == "/pair/pair.css" and read:
            return Response(pages.CSS, media_type="text/css")
        if path == "/pair/boat.crt" and read and gate.certificate is not None:
            return Response(
                gate.certificate.authority_pem,
                media_type="application/x-x509-ca-cert",
                headers={"content-disposition": 'attachment; filename="boat.crt"'},
            )
        if path == "/pair" and read:
            return self._show(request, local)
        if path == "/pair" and method == "POST" and not local:
            return await self._try(request)
        if path in ("/pair/code", "/pair/remove") and method == "POST" and local:
            return await self._laptop(request)
        return refusal(404, "there is no such page")

    def _show(self, request: Request, local: bool) -> Response:
        gate = self._gate
        if gate.pairing is None or gate.sessions is None:
            return HTMLResponse(pages.alone())
        if local:
            code, left = gate.pairing.current()
            phones = gate.sessions.phones()
            return HTMLResponse(
                pages.laptop(code, left, gate.addresses(), phones, self._fingerprint())
            )
        if self._phone(request) is not None:
            return _see("/")
        code = tidy(request.query_params.get("code", ""))
        if len(code) != LENGTH or set(code) - set(ALPHABET):
            code = ""  # only what could be a code is shown again
        return HTMLResponse(pages.join(self._fingerprint(), code))

    async def _try(self, request: Request) -> Response:
        gate = self._gate
        form = await _form(request)
        if gate.pairing is None or gate.sessions is None or form is None:
            return refusal(400, "expected the code, as the page sends it")
        whose = one_line(form.get("name", ""), 40).strip()  # typed once is enough
        tried = gate.pairing.attempt(address_of(request.scope), form.get("code", ""))
        if tried.how == "right":
            return self._let_in(gate.sessions, whose)
        if tried.how == "wrong" and not gate.pairing.current()[0]:
            gate.tell(
                "the code was guessed at too often and is dead; is somebody trying to get in?"
            )
        wait = max(1, round(tried.wait_s + 0.5))
        status, said = {
            "wrong": (403, "That is not the code the laptop shows. Look again."),
            "wait": (429, f"Too many tries. Wait {_long(wait)}, then try again."),
            "over": (403, "No code is good just now. Ask for a new one on the laptop."),
        }[tried.how]
        if tried.how == "wrong" and tried.wait_s:
            said += f" You can try again in {_long(wait)}."
        more = {"retry-after": str(wait)} if tried.wait_s else None
        return HTMLResponse(pages.join(self._fingerprint(), "", said, whose), status, more)

    def _let_in(self, sessions: Sessions, whose: str) -> Response:
        name = whose or "A phone"
        try:
            secret = sessions.add(name)
        except InputError as error:
            said = f"The boat could not write it down: {one_line(error)}. Ask for a new code."
            return HTMLResponse(pages.join(self._fingerprint(), "", said, whose), 500)
        self._gate.tell(f"{name} is connected")
        answer = _see("/")
        answer.set_cookie(
            COOKIE, secret, int(LASTS_S), secure=True, httponly=True, samesite="strict"
        )
        return answer

    async def _laptop(self, request: Request) -> Response:
        gate = self._gate
        form = await _form(request)
        if gate.pairing is None or gate.sessions is None or form is None:
            return refusal(400, "expected what the page sends")
        if str(request.scope["path"]) == "/pair/code":
            gate.pairing.renew()
        else:
            gate.put_ashore(form.get("id", ""))
        return _see("/pair")

    def _fingerprint(self) -> str:
        return self._gate.certificate.fingerprint if self._gate.certificate is not None else ""


def _see(path: str) -> Response:
    """Send the browser on to a page of ours."""
    return RedirectResponse(path, 303)


def _turned_away(request: Request) -> Response:
    if request.method in ("GET", "HEAD") and not str(request.scope["path"]).startswith("/api"):
        return _see("/pair")
    return refusal(401, "this phone is not paired with the boat; open /pair")


async def _form(request: Request) -> dict[str, str] | None:
    """Read a small plain form, the first of each field; None where none came whole."""
    body = await read_body(request, _FORM_BYTES)
    if body is None:
        return None
    return {name: told[0] for name, told in parse_qs(body.decode("utf-8", "replace")).items()}


def _long(seconds: int) -> str:
    return f"{seconds} seconds" if seconds < 90 else f"{round(seconds / 60)} minutes"

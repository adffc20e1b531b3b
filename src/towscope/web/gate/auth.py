"""Who is let in: this very machine always, a phone that has paired, nobody else.

On the laptop's own address nothing is asked for. Over the network the app answers only phones that
have typed the code; its own page to type it on is served here, before the app.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from typing import Final
from urllib.parse import parse_qs

from starlette.types import ASGIApp, Receive, Scope, Send

from towscope.errors import InputError, one_line
from towscope.web.gate import pages
from towscope.web.gate.addresses import Names
from towscope.web.gate.asgi import address_of, answer, header, is_local, read_body, refuse
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
_HTML: Final = b"text/html; charset=utf-8"


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
        local = is_local(scope)
        path = str(scope["path"])
        if path == "/pair" or path.startswith("/pair/"):
            await self._pair(scope, receive, send, local)
            return
        sessions = self._gate.sessions
        phone = None
        if not local:
            phone = sessions.find(_secret(scope)) if sessions is not None else None
            if phone is None and not (scope["method"] == "GET" and _OPEN.fullmatch(path)):
                await self._turn_away(scope, send)
                return
        owner = phone.id if phone is not None else None
        await self._app({**scope, WHO: Who(local, phone), OWNER: owner}, receive, send)

    async def _turn_away(self, scope: Scope, send: Send) -> None:
        if str(scope["path"]).startswith("/api"):
            await refuse(send, 401, "this phone is not paired with the boat; open /pair")
        elif scope["method"] in ("GET", "HEAD"):
            await answer(send, 303, b"", _HTML, ((b"location", b"/pair"),))
        else:
            await refuse(send, 401, "this phone is not paired with the boat; open /pair")

    # -- the pages ---------------------------------------------------------------------------

    async def _pair(self, scope: Scope, receive: Receive, send: Send, local: bool) -> None:
        path, method = str(scope["path"]), str(scope["method"])
        gate = self._gate
        read = method in ("GET", "HEAD")
        if path == "/pair/pair.css" and read:
            await answer(send, 200, pages.CSS, b"text/css; charset=utf-8")
        elif path == "/pair/boat.crt" and read and gate.certificate is not None:
            await answer(
                send, 200, gate.certificate.authority_pem, b"application/x-x509-ca-cert",
                ((b"content-disposition", b'attachment; filename="boat.crt"'),),
            )  # fmt: skip
        elif path == "/pair" and read:
            await self._show(scope, send, local)
        elif path == "/pair" and method == "POST" and not local:
            await self._try(scope, receive, send)
        elif path in ("/pair/code", "/pair/remove") and method == "POST" and local:
            await self._laptop(path, receive, send)
        else:
            await refuse(send, 404, "there is no such page")

    async def _show(self, scope: Scope, send: Send, local: bool) -> None:
        gate = self._gate
        if gate.pairing is None or gate.sessions is None:
            await answer(send, 200, pages.alone(), _HTML)
        elif local:
            code, left = gate.pairing.current()
            page = pages.laptop(
                code, left, gate.addresses(), gate.sessions.phones(), self._fingerprint()
            )
            await answer(send, 200, page, _HTML)
        elif gate.sessions.find(_secret(scope)) is not None:
            await answer(send, 303, b"", _HTML, ((b"location", b"/"),))
        else:
            told = parse_qs(scope["query_string"].decode("latin-1")).get("code", [""])[0]
            code = tidy(told)
            if len(code) != LENGTH or set(code) - set(ALPHABET):
                code = ""  # only what could be a code is shown again
            await answer(send, 200, pages.join(self._fingerprint(), code), _HTML)

    async def _try(self, scope: Scope, receive: Receive, send: Send) -> None:
        gate = self._gate
        body = await read_body(receive, _FORM_BYTES)
        if gate.pairing is None or gate.sessions is None or body is None:
            await refuse(send, 400, "expected the code, as the page sends it")
            return
        form = parse_qs(body.decode("utf-8", "replace"))
        typed = form.get("code", [""])[0]
        whose = one_line(form.get("name", [""])[0], 40).strip()  # typed once is enough
        tried = gate.pairing.attempt(address_of(scope), typed)
        if tried.how == "right":
            try:
                name = whose or "A phone"
                secret = gate.sessions.add(name)
            except InputError as error:
                said = f"The boat could not write it down: {one_line(error)}. Ask for a new code."
                await answer(send, 500, pages.join(self._fingerprint(), "", said, whose), _HTML)
                return
            gate.tell(f"{name} is connected")
            cookie = (
                f"{COOKIE}={secret}; Path=/; Max-Age={int(LASTS_S)}; Secure; HttpOnly; "
                "SameSite=Strict"
            )
            await answer(
                send, 303, b"", _HTML, ((b"location", b"/"), (b"set-cookie", cookie.encode()))
            )
            return
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
        more = ((b"retry-after", str(wait).encode()),) if tried.wait_s else ()
        await answer(send, status, pages.join(self._fingerprint(), "", said, whose), _HTML, more)

    async def _laptop(self, path: str, receive: Receive, send: Send) -> None:
        gate = self._gate
        body = await read_body(receive, _FORM_BYTES)
        if gate.pairing is None or gate.sessions is None or body is None:
            await refuse(send, 400, "expected what the page sends")
            return
        if path == "/pair/code":
            gate.pairing.renew()
        else:
            gate.put_ashore(parse_qs(body.decode("utf-8", "replace")).get("id", [""])[0])
        await answer(send, 303, b"", _HTML, ((b"location", b"/pair"),))

    def _fingerprint(self) -> str:
        return self._gate.certificate.fingerprint if self._gate.certificate is not None else ""


def _secret(scope: Scope) -> str | None:
    told = header(scope, b"cookie")
    if told is None:
        return None
    try:
        found = SimpleCookie(told).get(COOKIE)
    except CookieError:
        return None
    return found.value if found is not None else None


def _long(seconds: int) -> str:
    return f"{seconds} seconds" if seconds < 90 else f"{round(seconds / 60)} minutes"

"""Host, Origin and Sec-Fetch-Site checked: whether a request comes from our own pages.

A page from elsewhere, open in the same browser, can send requests here. Two tricks: it has its
own name answered with this machine's address (then the Host header is a stranger's), or it just
sends a form or a fetch (then Origin and Sec-Fetch-Site say so, and it can't add a header of ours).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from starlette.types import ASGIApp, Receive, Scope, Send

from towscope.errors import one_line
from towscope.web.gate.asgi import READS, WRITES, header, host_of, refusal

MARK: Final = "x-towscope"  # a page from elsewhere can't add it without asking first


class Origin:
    """Refuses what names another host, and writes that were made elsewhere.

    Parameters
    ----------
    app : ASGIApp
        What is behind.
    ours : callable
        Tells whether a host name is this machine's.
    forms : str
        Where the gate's own plain forms go: no script there to add the mark.
    """

    def __init__(self, app: ASGIApp, ours: Callable[[str], bool], forms: str = "/pair") -> None:
        self._app, self._ours, self._forms = app, ours, forms

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on, or say why not."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":  # the app speaks no other protocol
            return
        wrong = self._wrong(scope)
        if wrong is None:
            await self._app(scope, receive, send)
        else:
            await refusal(*wrong)(scope, receive, send)

    def _wrong(self, scope: Scope) -> tuple[int, str] | None:
        name = host_of(scope)
        if name is None or not self._ours(name):
            shown = one_line(name or "", 60)
            return 421, f'this is not "{shown}"; open the app at the address that the boat shows'
        method = str(scope["method"])
        if method not in READS and method not in WRITES:
            return 405, "no such method; expected GET, POST, PUT, PATCH or DELETE"
        path = str(scope["path"])
        site = header(scope, "sec-fetch-site")
        origin = header(scope, "origin")
        own = f"{scope.get('scheme', 'http')}://{(header(scope, 'host') or '').strip().lower()}"
        stranger = (origin is not None and origin.lower() != own) or site in (
            "cross-site",
            "same-site",
        )
        if method in WRITES or method == "OPTIONS":
            if stranger or (site is not None and site != "same-origin"):
                return 403, "sent from a page that is not the app's; open the app itself"
            if method == "OPTIONS":
                return None
            if path == self._forms or path.startswith(self._forms + "/"):
                if origin is None and site is None:
                    return 403, "nothing says which page sent this; expected the app's own page"
            elif header(scope, MARK) != "1":
                return 403, "the header X-Towscope: 1 is missing; expected on all that changes"
        elif stranger and path.startswith("/api"):
            return 403, "asked for by a page that is not the app's; open the app itself"
        return None

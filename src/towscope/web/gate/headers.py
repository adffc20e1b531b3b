"""Content security policy and kin: what a page of the app may load, and from where."""

from __future__ import annotations

import ipaddress
from typing import Final

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from towscope.web.gate.asgi import host_of, is_local_name

# Everything from the app itself. Its engine is WebAssembly, which takes a word of its own that lets
# no text be run as a script. MapLibre draws in a worker that it makes from a blob and takes its
# pictures from blobs and data; Svelte's templates carry style attributes (never scripts).
POLICY: Final = "; ".join(
    (
        "default-src 'self'",
        "script-src 'self' 'wasm-unsafe-eval'",
        "style-src 'self'",
        "style-src-attr 'unsafe-inline'",
        "img-src 'self' data: blob:",
        "font-src 'self'",
        "connect-src 'self'",
        "worker-src 'self' blob:",
        "child-src 'self' blob:",
        "manifest-src 'self'",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)
HEADERS: Final[tuple[tuple[bytes, bytes], ...]] = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    # "no-referrer" would make a form's Origin "null", which the gate could not tell from a stranger
    (b"referrer-policy", b"same-origin"),
    (
        b"permissions-policy",
        b"geolocation=(self), screen-wake-lock=(self), fullscreen=(self), camera=(), "
        b"microphone=(), payment=(), usb=(), serial=(), bluetooth=(), midi=(), "
        b"display-capture=(), browsing-topics=()",
    ),
    (b"x-frame-options", b"DENY"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)
# A day only: a boat that loses its certificate must not lock its phones out for a year.
_TRANSPORT: Final = (b"strict-transport-security", b"max-age=86400")
_HASHED: Final = "/assets/"  # the build puts a hash of the content into these files' names


class Headers:
    """Puts the headers on every answer, refusals too."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass the request on and mark the answer."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        extra = list(HEADERS)
        if scope.get("scheme") == "https" and _has_name(scope):
            extra.append(_TRANSPORT)
        path = str(scope["path"])

        async def marked(message: Message) -> None:
            if message["type"] == "http.response.start":
                ours = {name for name, _ in extra}
                kept = [pair for pair in message["headers"] if pair[0].lower() not in ours]
                if not any(name.lower() == b"cache-control" for name, _ in kept):
                    kept.append((b"cache-control", _keep(path, int(message["status"]))))
                message = {**message, "headers": kept + extra}
            await send(message)

        await self._app(scope, receive, marked)


def _keep(path: str, status: int) -> bytes:
    """Say how long a browser may keep an answer."""
    if path.startswith(_HASHED) and status in (200, 206, 304):
        return b"private, max-age=31536000, immutable"
    return b"no-store" if path.startswith("/api") else b"no-cache"


def _has_name(scope: Scope) -> bool:
    """Tell whether the host is called by a name, and not one that every machine answers to."""
    name = host_of(scope)
    if name is None or is_local_name(name) or name.endswith(".localhost"):
        return False
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return True
    return False

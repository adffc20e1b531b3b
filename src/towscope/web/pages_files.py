"""The built pages, sent as small as the browser takes them: compressed once, at build."""

from __future__ import annotations

import mimetypes
import os
from typing import Final

from starlette.datastructures import Headers
from starlette.responses import FileResponse, Response
from starlette.staticfiles import NotModifiedResponse, StaticFiles
from starlette.types import Scope

# Best first; browsers take brotli over https and on the machine itself, gzip everywhere.
CODINGS: Final = (("br", ".br"), ("gzip", ".gz"))


class Pages(StaticFiles):
    """Static files, of which compressed copies may lie beside (``app.js.br``, ``app.js.gz``)."""

    def file_response(
        self,
        full_path: str | os.PathLike[str],
        stat_result: os.stat_result,
        scope: Scope,
        status_code: int = 200,
    ) -> Response:
        """Answer with the smallest copy that the browser takes.

        A request for a part of a file gets the plain one: parts of a compressed copy are of no use
        to whoever counted in the plain one.
        """
        asked = Headers(scope=scope)
        taken = accepted(asked.get("accept-encoding", ""))
        varies = False
        for coding, ending in CODINGS:
            packed = f"{os.fspath(full_path)}{ending}"
            try:
                found = os.stat(packed)  # noqa: PTH116 (once for each file asked for: kept plain)
            except OSError:
                continue
            if found.st_mtime < stat_result.st_mtime:  # left over from an earlier build
                continue
            varies = True
            if coding not in taken or "range" in asked:
                continue
            kind = mimetypes.guess_type(full_path)[0] or "application/octet-stream"
            answer = FileResponse(
                packed, status_code=status_code, stat_result=found, media_type=kind
            )
            answer.headers["content-encoding"] = coding
            answer.headers["vary"] = "Accept-Encoding"
            if self.is_not_modified(answer.headers, asked):
                return NotModifiedResponse(answer.headers)
            return answer
        plain = super().file_response(full_path, stat_result, scope, status_code)
        if varies:
            plain.headers["vary"] = "Accept-Encoding"
        return plain


def accepted(header: str) -> frozenset[str]:
    """Give the content codings that a browser takes, by its Accept-Encoding.

    >>> sorted(accepted("gzip, deflate;q=0.5, br;q=0"))
    ['deflate', 'gzip']

    References
    ----------
    RFC 9110, section 12.5.3.
    """
    found = set()
    for part in header.lower().split(","):
        name, _, weight = part.partition(";")
        _, _, figure = weight.partition("=")
        try:
            refused = bool(figure.strip()) and float(figure) <= 0.0
        except ValueError:
            refused = True
        if name.strip() and not refused:
            found.add(name.strip())
    return frozenset(found)

"""Plain pages by Jinja2: what a phone sees before it is let in, and the laptop when it lets one in.

They carry no script at all, so that they work in any browser and under any policy.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

from towscope.web.gate.pairing import LENGTH, spaced
from towscope.web.gate.sessions import Phone

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

HERE: Final = Path(__file__).parent
CSS: Final = (HERE / "pair.css").read_bytes()

_SAFE: Final = (
    "The app shows and reckons; it never steers or controls anything on the boat. "
    "Keep a lookout at all times."
)


def join(fingerprint: str, code: str = "", said: str = "", name: str = "") -> str:
    """Give the page that asks a phone for the code.

    Parameters
    ----------
    fingerprint : str
        Of the boat's certificate; "" leaves out what is said of it.
    code : str
        What the field holds at first.
    said : str
        Why the last try did not do.
    name : str
        Whose phone it is, as typed with the last try.
    """
    return _page(
        "join", fingerprint=fingerprint, code=code, said=said, name=name, longest=LENGTH + 6
    )


def laptop(
    code: str,
    left_s: float,
    addresses: Sequence[str],
    phones: Sequence[Phone],
    fingerprint: str,
) -> str:
    """Give the laptop's own page: the code to let a phone in, and the phones that are aboard."""
    return _page(
        "laptop",
        code=spaced(code) if code else "",
        picture=_drawing(f"{addresses[0]}pair?code={code}") if code and addresses else None,
        minutes=max(1, round(left_s / 60)),
        addresses=addresses,
        phones=phones,
        fingerprint=fingerprint,
    )


def alone() -> str:
    """Give the page that says that no phone can reach the app as it was started."""
    return _page("alone")


@cache
def _templates() -> Environment:
    from jinja2 import Environment, FileSystemLoader

    made = Environment(loader=FileSystemLoader(HERE / "templates"), autoescape=True)
    made.filters["day"] = _day
    return made


def _page(template: str, /, **told: object) -> str:
    return _templates().get_template(f"{template}.html").render(**told, safe=_SAFE)


def _drawing(text: str) -> Markup:
    import segno
    from markupsafe import Markup

    out = io.BytesIO()
    # Dark on light whatever the look: cameras want it so. No style: drawn by attributes.
    segno.make(text, error="m", micro=False).save(
        out,
        kind="svg",
        scale=6,
        border=4,
        xmldecl=False,
        svgns=True,
        omitsize=True,
        dark="#000",
        light="#fff",
    )
    # its size before there is a style sheet too: without one it would be as wide as the page
    drawn = out.getvalue().decode().replace("<svg ", '<svg width="304" height="304" ', 1)
    return Markup(drawn)


def _day(unix_s: float) -> str:
    try:
        return f"{datetime.fromtimestamp(unix_s):%Y-%m-%d %H:%M}"
    except (OverflowError, OSError, ValueError):
        return "?"

"""What does a phone see before it is let in, and the laptop when it lets one in: plain pages.

They carry no script at all, so that they work in any browser and under any policy.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import datetime
from html import escape
from pathlib import Path
from typing import Final

from towscope.web.gate.pairing import LENGTH, spaced
from towscope.web.gate.sessions import Phone

CSS: Final = (Path(__file__).parent / "pair.css").read_bytes()

_SAFE: Final = (
    "The app shows and reckons; it never steers or controls anything on the boat. "
    "Keep a lookout at all times."
)
_CERTIFICATE: Final = """
<details>
<summary>Why did the phone warn me, and how do I end that?</summary>
<p>The address is on your boat's own network, so no authority on shore can vouch for it; the boat
vouches for itself, and your phone does not know the boat yet. That is what the warning says, and
it is right to say so. What is sent is encrypted all the same. Type the code only on a network
that is your own.</p>
<p>You can go on past the warning each time. To end it, and to have the app open with no network
and know the phone's place (some phones allow neither after a warning), let the phone know the
boat, once:</p>
<ol>
<li><a href="/pair/boat.crt" download>Load the boat's certificate</a> onto this phone.</li>
<li>On an Android phone: Settings, search for <em>CA certificate</em>, install from storage, and
choose <em>boat.crt</em>. The phone will warn that the owner could look into what you send; the
certificate is limited to addresses of private networks, so it can't be used for any site on
shore.</li>
<li>On an iPhone or iPad: Settings, <em>Profile downloaded</em>, install. Then General, About,
Certificate trust settings: switch the boat's on.</li>
<li>Check that the phone shows this SHA-256 fingerprint (the boat's laptop shows it too):
<code>{fingerprint}</code></li>
</ol>
<p>Remove it in the same place when you no longer sail with this boat.</p>
</details>
"""


def join(fingerprint: str, code: str = "", said: str = "", name: str = "") -> bytes:
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
    problem = f'<p class="problem" role="alert">{escape(said)}</p>' if said else ""
    about = _CERTIFICATE.format(fingerprint=escape(fingerprint)) if fingerprint else ""
    return _page(
        "Connect this phone",
        f"""
<h1>Connect this phone</h1>
<p>Type the code that the boat's laptop shows.</p>
{problem}
<form method="post" action="/pair">
<label for="code">Code</label>
<input id="code" name="code" class="code" required autocomplete="off" autocapitalize="characters"
 spellcheck="false" maxlength="{LENGTH + 6}" value="{escape(code, quote=True)}">
<label for="name">Whose phone is it? (so the laptop can list it by name)</label>
<input id="name" name="name" maxlength="40" autocomplete="off" placeholder="Ada"
 value="{escape(name, quote=True)}">
<button type="submit">Connect this phone</button>
</form>
<p class="note">No code on the laptop, or it is more than ten minutes old? On the laptop, open
<em>Phones</em> and ask for a new one.</p>
{about}
<p class="note">{_SAFE}</p>
""",
    )


def laptop(
    code: str,
    left_s: float,
    addresses: Sequence[str],
    phones: Sequence[Phone],
    fingerprint: str,
) -> bytes:
    """Give the laptop's own page: the code to let a phone in, and the phones that are aboard."""
    if code:
        first = addresses[0] if addresses else ""
        show = f"""
<p>On the phone, joined to the same network: point the camera at this.</p>
{_picture(f"{first}pair?code={code}") if first else ""}
<p>Or open <strong>{escape(first) or "the laptop's address"}</strong> and type</p>
<p class="code" aria-label="The code">{escape(spaced(code))}</p>
<p class="note">It lets one phone in, and is good for {max(1, round(left_s / 60))} more
minutes.{_others(addresses)}</p>
<form method="post" action="/pair/code"><button type="submit">A new code</button></form>"""
    else:
        show = """
<form method="post" action="/pair/code"><button type="submit">Connect a phone</button></form>"""
    rows = "".join(
        f"""<li><span><strong>{escape(each.name)}</strong><br>connected since {_day(each.paired_s)},
last seen {_day(each.seen_s)}</span>
<details><summary>Remove phone</summary>
<p>{escape(each.name)} needs a new code then. Entries it has not sent yet stay on it.</p>
<form method="post" action="/pair/remove"><input type="hidden" name="id" value="{escape(each.id)}">
<button type="submit" class="plain">Remove {escape(each.name)}</button></form></details></li>"""
        for each in phones
    )
    aboard = f"<ul>{rows}</ul>" if rows else "<p>None yet.</p>"
    shown = f"The certificate's fingerprint: <code>{escape(fingerprint)}</code>"
    return _page(
        "Phones",
        f"""
<h1>Phones</h1>
{show}
<h2>Connected</h2>
{aboard}
{f'<p class="note">{shown}</p>' if fingerprint else ""}
<p><a href="/">Back to the app</a></p>
<p class="note">{_SAFE}</p>
""",
    )


def alone() -> bytes:
    """Give the page that says that no phone can reach the app as it was started."""
    return _page(
        "Phones",
        """
<h1>Phones</h1>
<p>The app was started for this machine alone: no phone can reach it. To let phones in, end it and
start it again with</p>
<p class="code small">towscope serve --lan</p>
<p><a href="/">Back to the app</a></p>
""",
    )


def _page(title: str, body: str) -> bytes:
    return f"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(title)} · towscope</title>
<link rel="stylesheet" href="/pair/pair.css">
</head>
<body><main>{body}</main></body>
</html>
""".encode()


def _picture(text: str) -> str:
    import segno

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
    told = "The address with the code, as a picture"
    return f'<div class="picture" role="img" aria-label="{told}">{drawn}</div>'


def _others(addresses: Sequence[str]) -> str:
    if len(addresses) < 2:
        return ""
    return " Should that address not open, try " + ", ".join(map(escape, addresses[1:])) + "."


def _day(unix_s: float) -> str:
    try:
        return f"{datetime.fromtimestamp(unix_s):%Y-%m-%d %H:%M}"
    except (OverflowError, OSError, ValueError):
        return "?"

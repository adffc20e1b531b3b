"""The name of this device in the journal: made once, kept in the user's folder."""

from __future__ import annotations

import json
import os
import secrets
import socket

from towscope.errors import one_line
from towscope.files import home, write_whole


def device_name() -> str:
    """Give this device's name: made once, kept in the user's folder, or ``TOWSCOPE_DEVICE``."""
    chosen = os.environ.get("TOWSCOPE_DEVICE", "").strip()
    if chosen:
        return one_line(chosen, 80)
    path = home() / "device.json"
    try:
        kept = json.loads(path.read_text(encoding="utf-8"))
        name = kept.get("device") if isinstance(kept, dict) else None
        if isinstance(name, str) and name.strip():
            return one_line(name, 80)
    except (OSError, ValueError):
        pass
    host = "".join(c for c in socket.gethostname().lower() if c.isalnum() or c == "-")[:20]
    name = f"{host or 'device'}-{secrets.token_hex(3)}"
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, json.dumps({"device": name}).encode() + b"\n")
    return name

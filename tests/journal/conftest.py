"""What the journal's tests share: entries made by hand, and a store of their own."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from towscope.journal.events import AnyEvent, read_event
from towscope.journal.ids import join_id, new_id
from towscope.journal.opening import open_store
from towscope.journal.store import Store

ZONE = ZoneInfo("America/Chicago")
START = datetime(2026, 8, 14, 7, 0, tzinfo=ZONE)


def entry(kind: str, minute: float = 0.0, device: str = "phone", **told: Any) -> AnyEvent:
    """Make an entry at a minute after seven."""
    at = START + timedelta(minutes=minute)
    made = join_id(int(at.timestamp() * 1000) + 5000, int(new_id()[-12:], 16))
    body = {"id": made, "device": device, "kind": kind, "at": at.isoformat(), **told}
    return read_event(body)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with open_store(tmp_path / "journal.sqlite") as opened:
        yield opened

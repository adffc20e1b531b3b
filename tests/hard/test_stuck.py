"""An app that has stuck is ended and started again; one that only works hard is left alone."""

from __future__ import annotations

import asyncio
import contextlib
import os
import select
import sys
from pathlib import Path

import pytest
from tests import loops

from towscope.web import serving, supervisor
from towscope.web.serve_config import ServeConfig

pytestmark = pytest.mark.skipif(os.name != "posix", reason="pipes are handed down there alone")


def test_an_app_that_has_stuck_is_started_again(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    code = (
        "import json, os, sys, time\n"
        "plan = json.loads(sys.argv[1])\n"
        "if plan['starts']: raise SystemExit(0)\n"
        "os.write(plan['ready'], b'up')\n"
        "time.sleep(120)\n"  # alive, and does nothing
    )
    monkeypatch.setattr(supervisor, "COMMAND", (sys.executable, "-S", "-c", code))
    monkeypatch.setattr(supervisor, "STUCK_S", 0.8)
    monkeypatch.setattr(supervisor, "FIRST_WAIT_S", 0.001)
    assert supervisor.keep(ServeConfig(port=0)) == 0
    said = capfd.readouterr().err.splitlines()
    assert len(said) == 2
    assert "has not moved" in said[0]
    assert "SIGKILL" in said[1]
    assert "started again" in said[1]


def test_an_app_with_a_beat_is_left_alone(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    # it beats ten times as often as it must, for five times as long as silence is allowed
    code = (
        "import json, os, sys, time\n"
        "plan = json.loads(sys.argv[1])\n"
        "os.write(plan['ready'], b'up')\n"
        "end = time.monotonic() + 10.0\n"
        "while time.monotonic() < end: os.write(plan['ready'], b'.'); time.sleep(0.2)\n"
    )
    monkeypatch.setattr(supervisor, "COMMAND", (sys.executable, "-S", "-c", code))
    monkeypatch.setattr(supervisor, "STUCK_S", 2.0)
    assert supervisor.keep(ServeConfig(port=0)) == 0
    assert capfd.readouterr().err == ""


def test_a_keeper_that_does_not_listen_never_holds_the_app(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serving, "BEAT_S", 0.001)
    heard, told = os.pipe()
    os.set_blocking(told, False)
    with contextlib.suppress(BlockingIOError):
        while True:
            os.write(told, b"." * 4096)  # the pipe is full

    async def app() -> int:
        beat = asyncio.create_task(serving._beat(told))
        for _ in range(50):
            await asyncio.sleep(0.001)
        os.read(heard, 65_536)
        while not os.get_blocking(told) and not _waiting(heard):
            await asyncio.sleep(0.001)  # and it beats again
        beat.cancel()
        return len(os.read(heard, 4096))

    assert loops.run(lambda: asyncio.wait_for(app(), 30.0)) > 0
    os.close(heard)
    os.close(told)


def _waiting(pipe: int) -> bool:
    return bool(select.select([pipe], [], [], 0)[0])

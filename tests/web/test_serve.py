"""`towscope serve`: refused plainly, killed and back, ended at once, a phone let in over https."""

from __future__ import annotations

import http.client
import json
import logging
import os
import pty
import re
import select
import signal
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psutil
import pytest

from towscope.cli import run
from towscope.web import serving, supervisor
from towscope.web.serve_config import ServeConfig

sys.path.insert(0, str(Path(__file__).parents[2] / "bench"))

from kill_serve import killed


@pytest.fixture
def quiet_logging() -> Iterator[None]:
    root = logging.getLogger()
    before, level = root.handlers[:], root.level
    yield
    root.handlers[:], root.level = before, level
    logging.captureWarnings(False)


# -- what is wrong is said in one line -------------------------------------------------------------


def test_a_port_that_is_taken(capsys: pytest.CaptureFixture[str]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        assert run(["serve", "--port", str(port), "--no-open"]) == 2
    said = capsys.readouterr()
    assert said.err == (
        f"towscope: --port {port}: port {port} is taken, perhaps by another towscope; end that, "
        "or choose another\n"
    )
    assert said.out == ""


def test_a_port_for_phones_that_is_taken(capsys: pytest.CaptureFixture[str]) -> None:
    with socket.create_server(("0.0.0.0", 0)) as other:
        port = other.getsockname()[1]
        assert run(["serve", "--lan", "--port", str(port - 1), "--no-open"]) == 2
    assert f"port {port} is taken" in capsys.readouterr().err


@pytest.mark.parametrize("port", ["-1", "65536", "99999999999999999999", "x", "8642.5"])
def test_no_port(port: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["serve", f"--port={port}", "--no-open"]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1 and said.startswith("towscope: ")


def test_the_last_port_has_none_after_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["serve", "--lan", "--port", "65535"]) == 2
    assert "expected at most 65534" in capsys.readouterr().err


def test_the_made_up_day_brings_its_own_journal(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["serve", "--demo", "--journal", "mine.sqlite"]) == 2
    assert "--demo brings its own" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        (ServeConfig(journal="{tmp}/other.txt"), "is no journal; nothing was changed"),
        (ServeConfig(journal="{tmp}"), "is a folder; expected a journal file"),
        (ServeConfig(journal="nodb://x/y"), "nodb"),
        (ServeConfig(lake="Nowhere"), 'no lake "Nowhere"'),
        (ServeConfig(feeds=("tcp:",)), "--feed tcp:"),
        (ServeConfig(feeds=("radio:5",)), "--feed radio:5"),
        (ServeConfig(feeds=("file:{tmp}/none.nmea",)), "--feed file:"),
    ],
)
def test_what_cannot_be_served_is_said(
    plan: ServeConfig,
    words: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    quiet_logging: None,
) -> None:
    (tmp_path / "other.txt").write_text("another's file, and not a short one at that")
    text = plan.told().replace("{tmp}", str(tmp_path))
    assert serving.main([text]) == 2
    said = capsys.readouterr().err
    assert said.startswith("towscope: ") and said.count("\n") == 1
    assert words in said
    assert (tmp_path / "other.txt").read_text().startswith("another's file")


def test_a_plan_is_handed_on_whole() -> None:
    feeds = ("udp:10110", 'a"\n')
    plan = ServeConfig(
        port=1, lan=True, lan_port=2, feeds=feeds, lake="Long Slate", journal="x", demo=True,
        open_page=True, as_json=True, listening=(3, 4), alive=5, ready=6, starts=7,
    )  # fmt: skip
    assert ServeConfig.read(plan.told()) == plan


# -- the keeper ------------------------------------------------------------------------------------


def test_an_app_that_dies_at_once_is_given_up(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(supervisor, "COMMAND", (sys.executable, "-S", "-c", "raise SystemExit(3)"))
    monkeypatch.setattr(supervisor, "FIRST_WAIT_S", 0.001)
    assert supervisor.keep(ServeConfig(port=0)) == 70
    said = capfd.readouterr().err.splitlines()
    assert len(said) == supervisor.MOST_NEVER
    assert "status 3" in said[0] and "started again" in said[0]
    assert "not started again" in said[-1] and "is safe" in said[-1]


def test_an_app_that_was_up_is_started_however_often(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    # it says that it is up, is so for longer than "quickly", and is killed: MOST_QUICK + 3 times
    monkeypatch.setattr(supervisor, "MOST_QUICK", 5)
    starts = supervisor.MOST_QUICK + 3
    code = (
        "import json, os, signal, sys, time\n"
        "plan = json.loads(sys.argv[1])\n"
        f"if plan['starts'] == {starts}: raise SystemExit(0)\n"
        "os.write(plan['ready'], b'up')\n"
        "time.sleep(0.05)\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    monkeypatch.setattr(supervisor, "COMMAND", (sys.executable, "-S", "-c", code))
    monkeypatch.setattr(supervisor, "QUICK_S", 0.03)
    monkeypatch.setattr(supervisor, "FIRST_WAIT_S", 0.001)
    assert supervisor.keep(ServeConfig(port=0)) == 0
    said = capfd.readouterr().err.splitlines()
    assert len(said) == starts and all("SIGKILL" in line for line in said)


def test_bad_input_is_not_tried_again(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(supervisor, "COMMAND", (sys.executable, "-S", "-c", "raise SystemExit(2)"))
    assert supervisor.keep(ServeConfig(port=0)) == 2


def test_an_app_that_will_not_end_is_ended(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    # it asks for its own end as ctrl-C would, once nothing else but a kill can end it
    begun = tmp_path / "begun"
    code = (
        "import os, pathlib, signal, time\n"
        "signal.signal(signal.SIGTERM, signal.SIG_IGN)\n"
        f"pathlib.Path({str(begun)!r}).write_text(str(time.monotonic()))\n"
        "os.kill(os.getppid(), signal.SIGINT)\n"
        "time.sleep(60)\n"
    )
    monkeypatch.setattr(supervisor, "COMMAND", (sys.executable, "-S", "-c", code))
    assert supervisor.keep(ServeConfig(port=0)) == 0
    assert time.monotonic() - float(begun.read_text()) < 2.0  # "ctrl-C ends it within 2 s"


def test_begun_in_the_background_it_is_ended_by_a_word_to_its_process(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # a shell begins a job in the background with interrupts ignored, as nohup does hangups
    code = (
        "import os, signal, time\n"
        "for each in (signal.SIGINT, signal.SIGHUP, signal.SIGTERM):\n"
        "    os.kill(os.getppid(), each)\n"
        "time.sleep(60)\n"
    )
    monkeypatch.setattr(supervisor, "COMMAND", (sys.executable, "-S", "-c", code))
    before = {n: signal.signal(n, signal.SIG_IGN) for n in (signal.SIGINT, signal.SIGHUP)}
    try:
        assert supervisor.keep(ServeConfig(port=0)) == 0
        assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN
    finally:
        for each, handler in before.items():
            signal.signal(each, handler)


def test_the_made_up_days_home_is_thrown_away(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    told = tmp_path / "told"
    code = f"import os; open({str(told)!r}, 'w').write(os.environ['TOWSCOPE_HOME'])"
    monkeypatch.setattr(supervisor, "COMMAND", (sys.executable, "-S", "-c", code))
    own = os.environ["TOWSCOPE_HOME"]
    assert supervisor.keep(ServeConfig(port=0, demo=True)) == 0
    home = Path(told.read_text())
    assert str(home) != own and not home.exists()


# -- the whole thing -------------------------------------------------------------------------------


class Served:
    """`towscope serve` as a process of its own."""

    def __init__(self, home: Path, *options: str) -> None:
        self.home = home
        self.keeper = subprocess.Popen(
            [sys.executable, "-m", "towscope", "serve", "--port", "0", "--no-open", *options],
            env={**os.environ, "TOWSCOPE_HOME": str(home), "OMP_NUM_THREADS": "1"},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert self.keeper.stdout is not None
        self.out = self.keeper.stdout

    def told(self) -> dict[str, Any]:
        line = self.out.readline()
        assert line, self.keeper.stderr.read() if self.keeper.stderr else ""
        said: dict[str, Any] = json.loads(line)
        return said


def test_killed_at_random_it_is_back_and_nothing_is_lost(tmp_path: Path) -> None:
    # the full run, 50 kills, is bench/kill_serve.py
    came = killed(tmp_path, 2, longest_s=1.5)
    assert came.sent > 0
    assert (came.lost, came.doubled, came.altered, came.foreign) == (0, 0, 0, 0)


def test_a_phone_comes_aboard_and_all_ends_with_the_keeper(tmp_path: Path) -> None:
    served = Served(tmp_path, "--lan", "--json")
    try:
        told = served.told()
        port = int(told["address"].rsplit(":", 1)[1].strip("/"))
        assert told["address"].startswith("http://127.0.0.1:")
        assert re.fullmatch("[2-9A-Z]{6}", told["pairing_code"])
        bound = {
            (each.laddr.ip, each.laddr.port == port)
            for each in psutil.Process(told["process"]).net_connections("tcp")
            if each.status == psutil.CONN_LISTEN
        }
        assert ("127.0.0.1", True) in bound and ("0.0.0.0", True) not in bound
        lan_port = next(
            each.laddr.port
            for each in psutil.Process(told["process"]).net_connections("tcp")
            if each.status == psutil.CONN_LISTEN and each.laddr.ip == "0.0.0.0"
        )
        # a phone that trusts the boat's authority, over the network's port
        trust = ssl.create_default_context(cafile=str(tmp_path / "certificate" / "authority.pem"))
        boat = f"{socket.gethostname().split('.', 1)[0].lower()}.local"
        line = http.client.HTTPSConnection("127.0.0.1", lan_port, context=trust, timeout=30)
        line.request("GET", "/api/hello", headers={"Host": boat})
        refused = line.getresponse()
        assert refused.status == 401 and "error" in json.loads(refused.read())
        form = {"Host": boat, "Origin": f"https://{boat}"}
        form["Content-Type"] = "application/x-www-form-urlencoded"
        line.request("POST", "/pair", f"code={told['pairing_code']}&name=Ada", form)
        answer = line.getresponse()
        answer.read()
        assert answer.status == 303
        cookie = str(answer.headers["Set-Cookie"]).split(";")[0]
        line.request("GET", "/api/hello", headers={"Host": boat, "Cookie": cookie})
        hello = line.getresponse()
        assert hello.status == 200 and json.loads(hello.read())["version"]
        # a live picture is open; the keeper is killed; the app does not outlive it
        line.request("GET", "/api/stream", headers={"Host": boat, "Cookie": cookie})
        stream = line.getresponse()
        assert stream.status == 200 and stream.read(6) == b"event:"
        app = psutil.Process(told["process"])
        served.keeper.kill()
        app.wait(10)
    finally:
        served.keeper.kill()
        served.keeper.wait()
    assert (tmp_path / "sessions" / "phones.json").stat().st_mode & 0o777 == 0o600
    assert (tmp_path / "serve.log").read_text() == ""  # no access log, and nothing went wrong


def test_in_a_terminal_enter_makes_a_code_and_ctrl_c_ends_it_at_once(tmp_path: Path) -> None:
    child, terminal = pty.fork()
    if child == 0:
        os.environ["TOWSCOPE_HOME"] = str(tmp_path)
        words = [sys.executable, "-m", "towscope", "serve", "--lan", "--port", "0", "--no-open"]
        os.execv(sys.executable, words)
    try:
        text = _read(terminal, "lookout at all times")
        address = re.search(r"towscope is at  (http://127\.0\.0\.1:\d+/) ", text)
        assert address is not None
        assert "Nothing on the boat is steered or controlled from here." in text
        assert "▀" in text  # the picture
        code = re.search(r"type  ([2-9A-Z]{3} [2-9A-Z]{3})\b", text)
        assert code is not None
        os.write(terminal, b"\n")
        again = re.search(r"type  ([2-9A-Z]{3} [2-9A-Z]{3})\b", _read(terminal, "stop that"))
        assert again is not None and again[1] != code[1]
        port = int(address[1].rsplit(":", 1)[1].strip("/"))
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        line.request("GET", "/api/stream")
        assert line.getresponse().read(6) == b"event:"
        begun = time.monotonic()
        os.write(terminal, b"\x03")
        last = _read(terminal, None)
        assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
        assert time.monotonic() - begun < 2.0
        assert "Traceback" not in last and "rror" not in last
    except BaseException:
        os.kill(child, signal.SIGKILL)
        raise
    finally:
        os.close(terminal)


def _read(terminal: int, until: str | None, seconds: float = 90.0) -> str:
    """Give what the terminal shows until some words come, or it ends."""
    got = b""
    end = time.monotonic() + seconds
    while until is None or until not in got.decode("utf-8", "replace"):
        assert time.monotonic() < end, got.decode("utf-8", "replace")
        if select.select([terminal], [], [], 0.2)[0]:
            try:
                piece = os.read(terminal, 4096)
            except OSError:  # Linux says so when the other side is gone
                piece = b""
            if not piece:
                break
            got += piece
    return got.decode("utf-8", "replace")

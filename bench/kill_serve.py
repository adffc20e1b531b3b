"""Entries posted without pause while the app is killed at random: whether any is lost.

Starts ``towscope serve``, lets two phones post entries one after another, each again until it is
acknowledged, and ends the server with SIGKILL at random moments. Then compares what was
acknowledged with what the journal holds.

    python bench/kill_serve.py [--kills 50] [--phones 2] [--seed 1]
"""

from __future__ import annotations

import argparse
import http.client
import json
import os
import platform
import random
import signal
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import IO

from towscope.journal.ids import new_id
from towscope.journal.opening import open_store


@dataclass
class Outcome:
    """What came of it.

    Attributes
    ----------
    sent, tries : int
        Entries sent, and requests that it took.
    lost, doubled, altered, foreign : int
        Acknowledged and not in the journal; in it more than once; in it otherwise than sent; in
        it and never sent.
    back_s : list of float
        From each kill to the next answer [s].
    """

    kills: int = 0
    sent: int = 0
    tries: int = 0
    lost: int = 0
    doubled: int = 0
    altered: int = 0
    foreign: int = 0
    back_s: list[float] = field(default_factory=list)


class Phone(threading.Thread):
    """Posts entries one after another, each until it is acknowledged."""

    def __init__(self, port: int, name: str) -> None:
        super().__init__(daemon=True)
        self.port, self.name = port, name
        self.acknowledged: dict[str, str] = {}
        self.tries = 0
        self.end = threading.Event()

    def run(self) -> None:
        """Post until told to end."""
        line: http.client.HTTPConnection | None = None
        last: str | None = None
        count = 0
        while not self.end.is_set():
            count += 1
            last = new_id(after=last)
            text = f"{self.name} {count}"
            entry = {
                "id": last, "device": self.name, "kind": "note", "text": text,
                "at": datetime.now(UTC).isoformat(),
            }  # fmt: skip
            body = json.dumps({"events": [entry]})
            while True:
                self.tries += 1
                try:
                    line = line or http.client.HTTPConnection("127.0.0.1", self.port, timeout=90)
                    line.request(
                        "POST", "/api/journal/events", body,
                        {"Content-Type": "application/json", "X-Towscope": "1"},
                    )  # fmt: skip
                    answer = line.getresponse()
                    told = json.loads(answer.read())
                    if answer.status == 429:
                        time.sleep(float(answer.headers["Retry-After"]))
                        continue
                    assert answer.status == 200, (answer.status, told)
                    assert told["answers"][0]["state"] in ("taken", "had"), told
                    self.acknowledged[last] = text
                    break
                except (OSError, http.client.HTTPException, ValueError):
                    if line is not None:
                        line.close()
                    line = None
                    time.sleep(0.02)
            time.sleep(0.05)  # 20 writes a second for an address: two phones stay below


def killed(
    home: Path, kills: int, *, longest_s: float = 3.0, phones: int = 2, seed: int = 1
) -> Outcome:
    """Kill the app so often at random and say what came of it."""
    rng = random.Random(seed)
    surroundings = {**os.environ, "TOWSCOPE_HOME": str(home), "OMP_NUM_THREADS": "1"}
    keeper = subprocess.Popen(
        [sys.executable, "-m", "towscope", "serve", "--json", "--port", "0", "--no-open"],
        env=surroundings, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    outcome = Outcome(kills=kills)
    try:
        told = _up(keeper.stdout)
        crew = [
            Phone(int(told["address"].rsplit(":", 1)[1].strip("/")), f"phone {n}")
            for n in range(phones)
        ]
        for each in crew:
            each.start()
        for _ in range(kills):
            time.sleep(rng.uniform(0.02, longest_s))
            begun = time.monotonic()
            os.kill(int(told["process"]), signal.SIGKILL)
            told = _up(keeper.stdout)
            outcome.back_s.append(time.monotonic() - begun)
        time.sleep(0.5)
        for each in crew:
            each.end.set()
        for each in crew:
            each.join(90)
            assert not each.is_alive(), "a phone still waits for an answer"
    finally:
        keeper.terminate()
        assert keeper.wait(20) == 0
    acknowledged: dict[str, str] = {}
    for each in crew:
        acknowledged |= each.acknowledged
        outcome.tries += each.tries
    outcome.sent = len(acknowledged)
    with open_store(home / "journal.sqlite") as store:
        kept = [event for _, event in store.events()]
    texts = {event.id: getattr(event, "text", None) for event in kept}
    outcome.lost = len(acknowledged.keys() - texts.keys())
    outcome.doubled = len(kept) - len(texts) + len(kept) - len(set(texts.values()))
    outcome.altered = sum(
        texts[name] != text for name, text in acknowledged.items() if name in texts
    )
    outcome.foreign = len(texts.keys() - acknowledged.keys())
    return outcome


def _up(out: IO[str] | None) -> dict[str, str]:
    assert out is not None
    line = out.readline()
    assert line, "the keeper gave up"
    told: dict[str, str] = json.loads(line)
    return told


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--kills", type=int, default=50)
    asked.add_argument("--phones", type=int, default=2)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    begun = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="towscope-kill-") as home:
        came = killed(Path(home), given.kills, phones=given.phones, seed=given.seed)
    back = sorted(came.back_s)
    print(f"\n{datetime.now():%Y-%m-%d}, {os.cpu_count()} cores, {platform.system()}, "
          f"`python bench/kill_serve.py --kills {given.kills}`, {time.monotonic() - begun:.0f} s\n")  # fmt: skip
    print("| what | figure |\n|---|---|")
    print(f"| kills with SIGKILL | {came.kills} |")
    print(f"| entries acknowledged (requests that it took) | {came.sent} ({came.tries}) |")
    print(f"| acknowledged and lost | {came.lost} |")
    print(f"| in the journal twice | {came.doubled} |")
    print(f"| altered, or never sent | {came.altered + came.foreign} |")
    print(
        f"| back up by itself: median, longest | {back[len(back) // 2]:.1f} s, {back[-1]:.1f} s |"
    )


if __name__ == "__main__":
    main()

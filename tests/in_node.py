"""Asking the app's own modules in Node what the library is asked here: one way for all tests."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]


def asked(script: Path, questions: Iterable[Any], folder: Path, zone: str = "") -> list[Any]:
    """Let a script answer questions, a line of JSON each; by a zone's clock where one is given."""
    file = folder / "questions.jsonl"
    with file.open("w") as out:
        out.writelines(json.dumps(one) + "\n" for one in questions)
    done = subprocess.run(
        [
            str(Path(sys.executable).with_name("node")),
            str(script),
            str(ROOT / "frontend"),
            str(file),
        ],
        check=False,
        capture_output=True,
        text=True,
        env={**os.environ, "NODE_NO_WARNINGS": "1", **({"TZ": zone} if zone else {})},
    )
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]

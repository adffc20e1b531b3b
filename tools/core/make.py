"""Build the portable core: the kernels written out in C, and that compiled to WebAssembly.

python tools/core/make.py                core.wasm for app and Python, and the types of its ways in
python tools/core/make.py --c FILE       the C alone
python tools/core/make.py --types FILE   the types alone
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from entries import ENTRIES
from outside import Entry, source
from towscope.towing import portable
from typed import typescript
from writer import Book, OutsideError

FRONTEND = Path(__file__).parents[2] / "frontend"
WASM = FRONTEND / "public" / "core.wasm"
TYPES = FRONTEND / "src" / "lib" / "core" / "entries.ts"
# As Python computes: nothing is joined to one rounding, nothing reordered.
EXACT = ("-O3", "-ffp-contract=off", "-fno-strict-aliasing", "-Wall", "-Wno-unused")


def compiled(c: Path, out: Path, entries: list[Entry]) -> None:
    """Compile the C to a WebAssembly module that asks nothing of who runs it."""
    names = [f"-Wl,--export=core_{each.name}" for each in entries]
    _zig(
        "-target", "wasm32-wasi", "-mexec-model=reactor", *EXACT, "-s",
        "-Wl,--export=__heap_base", "-Wl,--gc-sections", "-Wl,-z,stack-size=131072",
        *names, "-o", str(out), str(c),
    )  # fmt: skip


def _zig(*words: str) -> None:
    # its own cache would lie in the home, which may be one that cannot be written to
    env = {"ZIG_GLOBAL_CACHE_DIR": str(Path(sys.prefix) / "zig"), **os.environ}
    done = subprocess.run(
        [sys.executable, "-m", "ziglang", "cc", *words],
        check=False, capture_output=True, text=True, env=env,
    )  # fmt: skip
    if done.returncode:
        sys.exit(f"the core does not compile:\n{done.stderr}")


def refuse_other_sources() -> None:
    """End the build where a kernel's module is not among those that the stamp is made of."""
    book = Book()
    for function in ENTRIES.values():
        book.kernel(function)
    other = book.modules - {f"towscope.{name.replace('/', '.')}" for name in portable.SOURCES}
    if other:
        sys.exit(f"{', '.join(sorted(other))}: not in SOURCES of {portable.__name__}")


def main() -> None:
    """Build what is asked for."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--c", type=Path, help="write the C alone")
    asked.add_argument("--types", type=Path, help="write the types alone")
    words = asked.parse_args()
    text, entries = source(ENTRIES)
    if words.c:
        words.c.write_text(text)
    if words.types:
        words.types.write_text(typescript(entries))
    if words.c or words.types:
        return
    refuse_other_sources()
    TYPES.write_text(typescript(entries))
    with tempfile.TemporaryDirectory() as folder:
        c = Path(folder) / "core.c"
        c.write_text(text)
        compiled(c, WASM, entries)
    module = WASM.read_bytes() + portable.stamp()
    for file in (WASM, portable.WASM):
        file.write_bytes(module)


if __name__ == "__main__":
    try:
        main()
    except OutsideError as error:
        sys.exit(str(error))

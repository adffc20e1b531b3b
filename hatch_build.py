"""What is built holds the app's pages and engine: without them a build ends, and says so."""

from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

ENGINE = ("core.wasm", "draws.bin", "tackle.json")


class PagesAreThere(BuildHookInterface):
    """Refuse a wheel or source archive whose app would be an empty screen, or have no engine."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Look for the pages before anything is packed; an editable install finds them later."""
        pages = Path(self.root) / "src" / "towscope" / "web" / "pages"
        if version == "editable":
            return
        if not (pages / "index.html").is_file():
            self.app.abort(
                "the app's pages are not built, and without them nobody could open the app: "
                "run `make pages`, then build again"
            )
        if not all((pages / name).is_file() for name in ENGINE):
            self.app.abort(
                "the app's engine is not in its pages, and without it a phone by itself could not "
                "work anything out: run `make pages`, then build again"
            )
        if not (pages.parents[1] / "towing" / "core.wasm").is_file():
            self.app.abort(
                "the engine of short commands is not built, and without it each would wait for a "
                "compiler to load: run `make core`, then build again"
            )

"""What is built holds the app's pages: without them a build ends, and says what to do."""

from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class PagesAreThere(BuildHookInterface):
    """Refuse a wheel or source archive whose app would be an empty screen."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Look for the pages before anything is packed; an editable install finds them later."""
        page = Path(self.root) / "src" / "towscope" / "web" / "pages" / "index.html"
        if version != "editable" and not page.is_file():
            self.app.abort(
                "the app's pages are not built, and without them nobody could open the app: "
                "run `make pages`, then build again"
            )

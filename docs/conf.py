"""Sphinx's settings: MyST, nothing fetched from elsewhere."""

import re
import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
from public_names import put_in

project = "towscope"
author = "The towscope crew"
copyright = "2026, the towscope crew"
extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
source_suffix = {".md": "markdown"}
exclude_patterns = ["_build", "examples"]
html_theme = "furo"
smartquotes_action = "D"  # dashes alone: what stands in quotes is what people type
html_title = "towscope"
myst_enable_extensions = ["colon_fence"]
myst_heading_anchors = 3
napoleon_google_docstring = False
napoleon_use_rtype = False
autodoc_typehints = "signature"
autodoc_member_order = "bysource"
suppress_warnings = ["myst.xref_missing"]


def shorter(_app: Any, _what: str, _name: str, _of: Any, _how: Any, sig: Any, back: Any) -> Any:
    """Say array where an array of figures is meant, not how its type is spelled."""
    array = re.compile(r"(?:~?numpy\.)?ndarray\[[^\[\]]*\[[^\[\]]*\], [^\[\]]*\[[^\[\]]*\]\]")
    return tuple(text and array.sub("array", text) for text in (sig, back))


def setup(app: Any) -> None:
    app.connect("source-read", put_in)
    app.connect("autodoc-process-signature", shorter)

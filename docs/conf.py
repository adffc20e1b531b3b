"""How the documentation is built: Sphinx with MyST, nothing fetched from elsewhere."""

project = "towscope"
author = "The towscope crew"
copyright = "2026, the towscope crew"
extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
source_suffix = {".md": "markdown"}
exclude_patterns = ["_build"]
html_theme = "furo"
html_title = "towscope"
myst_enable_extensions = ["colon_fence"]
myst_heading_anchors = 3
napoleon_google_docstring = False
autodoc_typehints = "signature"
autodoc_member_order = "bysource"
suppress_warnings = ["myst.xref_missing"]

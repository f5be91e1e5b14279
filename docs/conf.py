"""Settings of the documentation, and the pages that are written from the program itself."""

from __future__ import annotations

import sys
from pathlib import Path

DOCS = Path(__file__).resolve().parent
sys.path.insert(0, str(DOCS))
sys.path.insert(0, str(DOCS.parent / "tests"))

import hydroloop  # noqa: E402

project = "hydroloop"
author = "The hydroloop developers"
copyright = author
version = release = hydroloop.__version__

extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
exclude_patterns = ["_build", "writing"]
myst_enable_extensions = ["colon_fence", "deflist"]
myst_heading_anchors = 3
# Attributes of several classes share a name, such as `name`: what links to it may be either.
suppress_warnings = ["config.cache", "ref.python"]
nitpicky = False

autodoc_typehints = "none"
autodoc_member_order = "bysource"
napoleon_google_docstring = False
napoleon_use_rtype = False
napoleon_use_ivar = True

html_theme = "furo"
html_title = "hydroloop"
html_static_path = ["static"]
html_css_files = ["wide-tables.css"]
html_theme_options = {"navigation_with_keys": True}
html_show_sphinx = False


def setup(app: object) -> None:
    """Write the pages that come from the program before anything is read."""
    from writing.pages import write_pages

    app.connect("builder-inited", lambda _: write_pages(DOCS))  # type: ignore[attr-defined]

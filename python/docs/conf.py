"""How the documentation site is built; `cargo xtask site` runs it in the environment of the Python module."""

from __future__ import annotations

from typing import Any

import densepath as dp

project = "densepath"
version = release = dp.__version__

extensions = ["myst_nb", "numpydoc", "sphinx.ext.autodoc", "sphinx.ext.mathjax"]
exclude_patterns = ["fluids/README.md", "pairs/README.md"]
myst_heading_anchors = 3
# The notebooks, which are in a folder of their own, are run while the site is built, each in a process of its own.
nb_execution_mode = "force"
nb_execution_raise_on_error = True
nb_execution_timeout = 600
nb_merge_streams = True
# The pages are read with the sources too, where their links go to folders.
suppress_warnings = ["myst.xref_missing"]

autodoc_default_options = {"members": True, "member-order": "alphabetical"}
numpydoc_show_class_members = False
numpydoc_class_members_toctree = False

html_theme = "furo"
html_title = f"densepath {release}"
html_static_path = ["style"]
html_css_files = ["site.css"]
html_theme_options = {
    "light_css_variables": {"color-brand-primary": "#8a4b12", "color-brand-content": "#8a4b12"},
    "dark_css_variables": {"color-brand-primary": "#e0a060", "color-brand-content": "#e0a060"},
}
html_copy_source = False
html_show_sphinx = False
html_show_copyright = False


def _rows(head: list[str], rows: list[tuple[object, ...]]) -> str:
    lines = [head, ["---"] * len(head), *[[str(cell) for cell in row] for row in rows]]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def tables() -> str:
    """The tables of errors, notices and quantities as the library has them."""
    return "\n\n".join(
        (
            "## Errors",
            _rows(["code", "class", "meaning"], list(dp.list_errors())),
            "## Notices",
            _rows(["code", "severity"], list(dp.list_notices())),
            "## Quantities",
            _rows(["name", "symbol", "unit"], list(dp.list_quantities())),
        )
    )


def setup(app: Any) -> None:
    """Writes what the library itself knows into the pages that name it."""
    app.connect("source-read", lambda _app, page, source: _fill(page, source))


def _fill(page: str, source: list[str]) -> None:
    source[0] = source[0].replace("{tables}", tables()) if page == "reference/errors" else source[0]

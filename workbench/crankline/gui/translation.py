"""Texts of the window in the user's language, by the host's own means.

``translations/crankline.ts`` beside this lists them; a test keeps it current."""
from __future__ import annotations

import FreeCAD as App


def translate(context: str, text: str) -> str:
    """The text in the language of the window; itself where nobody has translated it."""
    found: str = App.Qt.translate(context, text)
    return found

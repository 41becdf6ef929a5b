"""The one context under which all words of the extension are translated, and how they are asked for.

In a context of its own no word is taken for one of Blender's that is spelled alike: "Clear" of a table is not the
"Clear" that removes. Who adds a language registers its words with `bpy.app.translations.register`, each under this
context.
"""

from __future__ import annotations

from typing import Final

import bpy

CONTEXT: Final = "Dry Assembly"


def shown(text: str) -> str:
    """A word or label in the language of the interface."""
    return bpy.app.translations.pgettext_iface(text, CONTEXT)


def told(text: str) -> str:
    """A sentence for a tooltip or a report in the language of those."""
    return bpy.app.translations.pgettext_tip(text, CONTEXT)

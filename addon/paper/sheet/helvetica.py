"""How wide the letters of Helvetica are, one of the typefaces that every reader of PDF has.

The widths are those of Adobe's metric files for the core 14 typefaces, for the letters of WinAnsiEncoding (PDF 32000-1,
annex D).
"""

from __future__ import annotations

import unicodedata
from typing import Final

CAPITAL_OF_EM: Final = 0.718
"""Height of a capital, as a share of the typeface's size."""

BOLD: Final = 0.13
"""Weight from which lettering is bold."""

_PLAIN: Final = {
    191: "'", 222: "ijl‚‘’", 260: "|¦", 278: " \xa0!,./:;I[\\]ft·ÌÍÎÏìíîï", 333: "()-\xad`r„ˆ‹“”˜›¡¨¯²³´¸¹",
    334: "{}", 350: "•", 355: '"', 365: "º", 370: "ª", 389: "*", 400: "°", 469: "^", 500: "Jcksvxyzšžçýÿ", 537: "¶",
    556: "#$0123456789?L_abdeghnopqu€ƒ†‡–¢£¤¥§«µ»àáâãäåèéêëðñòóôõöùúûüþ", 584: "+<=>~¬±×÷", 611: "FTZŽ¿ßø",
    667: "&ABEKPSVXYŠŸÀÁÂÃÄÅÈÉÊËÝÞ", 722: "CDHNRUwÇÐÑÙÚÛÜ", 737: "©®", 778: "GOQÒÓÔÕÖØ", 833: "Mm", 834: "¼½¾",
    889: "%æ", 944: "Wœ", 1000: "…‰Œ—™Æ", 1015: "@",
}  # fmt: skip
_BOLD: Final = {
    238: "'", 278: " \xa0,./I\\ijl‚‘’·ÌÍÎÏìíîï", 280: "|¦", 333: "!()-\xad:;[]`ftˆ‹˜›¡¨¯²³´¸¹", 350: "•", 365: "º",
    370: "ª", 389: "*r{}", 400: "°", 474: '"', 500: "z„“”ž", 556: "#$0123456789J_aceksvxy€ƒ†‡–š¢£¤¥§«¶»àáâãäåçèéêëýÿ",
    584: "+<=>^~¬±×÷", 611: "?FLTZbdghnopquŽµ¿ßðñòóôõöøùúûüþ", 667: "EPSVXYŠŸÈÉÊËÝÞ",
    722: "&ABCDHKNRUÀÁÂÃÄÅÇÐÑÙÚÛÜ", 737: "©®", 778: "GOQwÒÓÔÕÖØ", 833: "M", 834: "¼½¾", 889: "%mæ", 944: "Wœ", 975: "@",
    1000: "…‰Œ—™Æ",
}  # fmt: skip
"""Width in thousandths of the size → the letters that have it."""

_WIDTHS: Final = tuple(
    {letter: width for width, letters in table.items() for letter in letters} for table in (_PLAIN, _BOLD)
)


def encoded(text: str) -> bytes | None:
    """A line in WinAnsiEncoding; None where it has letters outside that."""
    composed = unicodedata.normalize("NFC", text)
    if not all(letter in _WIDTHS[0] for letter in composed):
        return None
    return composed.encode("cp1252")


def width(text: str, bold: bool = False) -> float:
    """Width of a line that can be encoded, in sizes of the typeface."""
    table = _WIDTHS[1 if bold else 0]
    return sum(table[letter] for letter in unicodedata.normalize("NFC", text)) / 1000

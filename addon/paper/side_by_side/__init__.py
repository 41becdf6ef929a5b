"""Two to four sets of sizes of one table beside each other, with the figures that differ."""

from .picture import side_by_side_picture, side_by_side_steps
from .variants import FEWEST, MOST, Difference, Variant, differences, variant_of, variants_of
from .words import comparison_document, comparison_text

__all__ = [
    "FEWEST",
    "MOST",
    "Difference",
    "Variant",
    "comparison_document",
    "comparison_text",
    "differences",
    "side_by_side_picture",
    "side_by_side_steps",
    "variant_of",
    "variants_of",
]

"""What is written as JSON, everywhere: plain data with one rounding."""

from __future__ import annotations

import dataclasses
import json
import math
from collections.abc import Mapping
from typing import Any, Final

import numpy as np

DECIMALS: Final = 9
"""Digits after the point of numbers: of lengths in mm finer than any rounding of the arithmetic matters."""


def plain(value: Any) -> Any:
    """Data as JSON holds it: dataclasses by their fields, arrays and tuples as lists, numbers rounded.

    What is no finite number (room where nothing is in the way) is None. Nothing is a negative zero.
    """
    if isinstance(value, float | np.floating):
        return round(float(value), DECIMALS) + 0.0 if math.isfinite(value) else None
    if isinstance(value, np.ndarray) and value.dtype.kind == "f" and np.isfinite(value).all():
        return (np.round(value, DECIMALS) + 0.0).tolist()
    if isinstance(value, np.generic | np.ndarray):
        return plain(value.tolist())
    if isinstance(value, Mapping):
        return {str(key): plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [plain(one) for one in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {one.name: plain(getattr(value, one.name)) for one in dataclasses.fields(value)}
    return value


def document_text(document: Any) -> str:
    """The text of a JSON document, in one line."""
    return json.dumps(plain(document), allow_nan=False) + "\n"

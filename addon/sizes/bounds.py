"""How large what comes in may be: far beyond any table that a person builds, far below what a computer cannot carry."""

from __future__ import annotations

from typing import Final

MOST_BYTES: Final = 1_000_000
"""Size of a file that is read; a table file with every explanation has 20,000."""

DEEPEST_KEY: Final = 8
"""Names in a key of a table file with dots between them; no parameter has more than two."""

MOST_STOCKS: Final = 200
MOST_AS_CUT: Final = 5000
"""Entries of their lists in a table file: more sheets than a dealer has, eight dimensions of each of 600 parts."""

MOST_OWN: Final = 200
MOST_OWN_CUTS: Final = 2000
"""Parts of the maker's own, and what is cut into these."""

MOST_ACCEPTED: Final = 500
"""Findings that somebody accepts."""

MOST_RESERVED: Final = 100
MOST_POINTS: Final = 50
"""Spaces that are reserved, and points of the way of one."""

LONGEST_REASON: Final = 300
LONGEST_PARTS: Final = 4000
"""Characters of the reason why a finding is accepted, and of the labels of all parts that it concerns."""

MOST_FASTENERS: Final = 2000
"""Screws and brads of the maker's own."""

MOST_LINES: Final = 1000
"""Lengths in a list of a table file."""

MOST_PARTS: Final = 2000
"""Of a table."""

MOST_ROWS: Final = 200
MOST_OPENINGS: Final = 200
"""Rows in a file of bare numbers, and openings of one of them; a leaf passes a slot and a few ribs."""

MOST_RANDOM_TABLES: Final = 1_000_000
"""That a tolerance analysis draws; 10,000 tell a share of 99 % within 0.2 %."""

MOST_LAYOUTS: Final = 200
MOST_SAWN: Final = 2000
"""Lists of parts in a file of bare numbers, and parts of one of them: as many as a table may have."""

MOST_SEARCH: Final = 3600
"""Seconds of a search for fewer sheets."""

MOST_SEED: Final = 2**32 - 1
"""Of random numbers."""

FEWEST_DPI: Final = 30
MOST_DPI: Final = 1200
"""Dots an inch of a picture; printers put down 600 to 1200."""

MOST_RENDERED: Final = 40_000_000
"""Dots of a picture that Blender renders, which keeps all of them at once: A4 at 600 an inch."""

FINEST_DIVISION: Final = 0.1
COARSEST_DIVISION: Final = 10.0
"""Of a rule or a saw's fence, mm."""

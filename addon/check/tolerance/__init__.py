"""Tolerance analysis: what deviations of cut dimensions do to the leaves' ways home and to the cover.

`deviations` names what may be off; `model` says how it moves the openings of a leaf's row, linearly. `holds` finds once
which edges can hold the leaf together; `maps` works out its room for thousands of tables at a time,
`triples` its worst case in closed form. `analysis` puts them together, `backwards` asks what has to be held.
"""

"""Lengths read and written, parameters declared, what is refused, and the numeric tolerances of all geometry."""

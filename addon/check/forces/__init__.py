"""Friction, jamming and sag of a leaf among its openings."""

"""Findings drawn over the 3D view: what there is to draw, prepared beforehand, and the drawing itself."""

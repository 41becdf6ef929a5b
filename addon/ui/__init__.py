"""Buttons and panels: thin layers over `scene.tables`."""

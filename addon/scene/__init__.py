"""Tables in Blender: objects from parts, the stow animation, marks at findings, pictures.

`description` and `timeline` know nothing of Blender; the other modules need it and are imported by those who have it.
"""

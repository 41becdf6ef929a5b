"""Tables in Blender: objects from parts, the stow animation, marks at findings, pictures.

Modules that say "no bpy here" know nothing of Blender; the others need it and are imported by those who have it.
"""

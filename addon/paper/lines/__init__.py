"""Edges of all parts as the eye sees them, hidden ones taken away exactly; lines and areas made of what is left."""

"""Designs: from parameters to an assembly, and what to change where the check finds something. One folder a design."""

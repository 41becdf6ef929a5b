"""Checks and findings: leaves slid home exactly, parts that overlap, ribs that are too long."""

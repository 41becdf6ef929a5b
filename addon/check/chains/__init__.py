"""Chains of parts that butt on each other: what too long and too short add up to from side to side."""

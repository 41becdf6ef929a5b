"""Legs: one module a kind, chosen in `kinds`; `corners` has the places where they stand."""

"""The exact kernel: the smallest clearance of a straight slide between convex pieces."""

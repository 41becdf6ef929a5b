"""The film on paper: a leaf at the moments of its way that matter, and the tightest places enlarged."""

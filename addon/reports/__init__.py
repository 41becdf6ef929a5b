"""Results in words and as JSON."""

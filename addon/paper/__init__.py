"""What leaves the computer: exports for other programs and texts for the shop."""

"""What moves: leaves on their way, the exploded view, and their keyframes."""

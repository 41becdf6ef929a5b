"""Parts as convex pieces, exactly: cut out in closed form around the openings, grooves and holes."""

"""A leaf on its way through a row of openings, in one plane, with tilt: what poses they allow, what it can catch on."""

"""A leaf among its openings on a sheet of paper: what the pictures in `slide_pictures` are made of."""

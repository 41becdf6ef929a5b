"""A leaf among its openings on a sheet of paper, with what its nose can miss."""

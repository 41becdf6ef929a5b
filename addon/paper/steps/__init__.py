"""Pictures of a table's assembly, step by step: what is new strong, what is done light, arrows along the move."""

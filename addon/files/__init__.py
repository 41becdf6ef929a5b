"""Files: table files read, written and changed in place, the examples, and what is exported for other programs."""

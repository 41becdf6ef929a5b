"""Which parts can leave a table and which way, and the exploded view worked out from that."""

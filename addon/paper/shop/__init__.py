"""The papers for the shop: one module a kind of page, in the order of the work."""

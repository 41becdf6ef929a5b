"""The slide proof of a table's leaves: what is found, said and proposed."""

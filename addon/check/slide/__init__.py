"""The slide proof of leaves, however they are held, and what friction, weight and changed places add to it."""

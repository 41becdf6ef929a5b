"""The slide proof of leaves, however they are held, and what friction, weight and changed positions add to it."""

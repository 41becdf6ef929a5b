"""What parts that came out otherwise than drawn leave standing free, proud, open or out of plane."""

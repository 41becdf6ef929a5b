"""Parts on sheets: how many sheets they take, where each lies, and the order of sawing. It knows no table."""

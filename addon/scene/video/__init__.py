"""The video of the leaves sliding home: its script, its frames, what lies over them."""

"""Stock, parts, assembly and the table recipe. Knows nothing of Blender; numpy only."""

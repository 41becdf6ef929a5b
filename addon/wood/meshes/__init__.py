"""Parts as closed triangle meshes: outline, walls, the map of each face, and triangles for what is flat."""

"""Array functions on triangle meshes. Knows no bodies, no garments, no files."""

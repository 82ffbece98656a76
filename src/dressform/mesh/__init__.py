"""Array functions on triangle meshes. Nothing here depends on bodies, garments or files."""

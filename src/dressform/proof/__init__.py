"""What is certain over the whole range of shapes, and what was only checked."""

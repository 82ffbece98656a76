"""Proof of which clearances hold over the whole range of shapes, and which were only checked."""

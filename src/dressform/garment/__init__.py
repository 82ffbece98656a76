"""The cloth: mesh, parts, seams, strength masks."""

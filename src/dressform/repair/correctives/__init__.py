"""Corrective targets: which joints drive them, and what they must add to keep strong bends clear."""

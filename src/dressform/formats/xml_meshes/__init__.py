"""Meshes from XML: COLLADA."""

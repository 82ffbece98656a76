"""Saltmarsh: the demo bodies and wardrobe."""

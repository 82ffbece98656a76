"""Wardrobes: many garments of one body, each by itself, with a store of what is finished."""

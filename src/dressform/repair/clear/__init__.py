"""Clearance: the least, smoothest change that keeps cloth off the skin over the range, at rest and at stances."""

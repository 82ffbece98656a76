"""Comparing: two sides over the same garments, shapes and stances."""

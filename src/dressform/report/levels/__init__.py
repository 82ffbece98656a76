"""Levels of detail shown: a table, pictures and a page."""

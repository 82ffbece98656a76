"""Prepares the page's input: data, layers and charts."""

"""Results as tables, JSON and pictures."""

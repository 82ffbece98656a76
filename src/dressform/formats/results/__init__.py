"""Results as JSON and CSV, and their schemas."""

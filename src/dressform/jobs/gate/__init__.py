"""The gate: what was found, judged by the rules of a shop."""

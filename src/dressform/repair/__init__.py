"""Changes that remove faults, each with what it cost and what is left."""

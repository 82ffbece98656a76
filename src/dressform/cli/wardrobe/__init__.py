"""Commands that are given many garments."""

"""How much an audit looks at; nothing heavy is imported here."""

DEFAULT_PAIRS = 24
"""So many pairs of morphs are taken to their ends together: those that move most skin together."""

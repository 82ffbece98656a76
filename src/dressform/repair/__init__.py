"""Repairs: changes that remove faults, each with its cost and the faults that remain."""

"""Morph targets written: how, with what turns, under which names, and what they weigh."""

"""Actions: places with one cause and one remedy, and what following the remedy does to the whole garment."""

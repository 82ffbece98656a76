"""One file per cause: what can be done about it, in words and as the same change of the whole garment."""

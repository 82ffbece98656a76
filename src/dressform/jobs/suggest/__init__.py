"""Suggesting how garments should follow: on or off, how strongly, stiff or not, by what each leaves over the range."""

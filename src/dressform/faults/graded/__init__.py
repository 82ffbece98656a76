"""One file per graded fault: its name, words, unit, bands, field and layer of the page."""

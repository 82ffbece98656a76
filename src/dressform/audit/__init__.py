"""A body's own audit: what is wrong with its morphs before any garment is put on."""

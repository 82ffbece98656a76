"""A garment with its lifted morphs and skin weights; following a shape."""

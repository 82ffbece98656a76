"""The garments of Saltmarsh, one file each: how they are shaped, cut, seamed and finished."""

"""Units, axes and place: in what frame a file was written, and whether that can be meant."""

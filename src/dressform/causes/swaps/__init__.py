"""One file per cause: the sign by which it could matter, and the swap that shows it."""

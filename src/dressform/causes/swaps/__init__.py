"""One file per cause: a test of whether it could matter, and the swap that measures it."""

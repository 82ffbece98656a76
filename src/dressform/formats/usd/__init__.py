"""USD, by the library `usd-core` (extra `usd`): meshes, blend shapes and skins read, fitted garments written."""

"""Buffer views compressed by EXT_meshopt_compression, read and written [EXTMeshopt]."""

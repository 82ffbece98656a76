"""Methods that are not ours: what a file holds, somebody's code, a folder of meshes."""

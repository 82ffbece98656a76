"""Reading and writing glTF."""

"""The operator that carries fields of the body to the cloth."""

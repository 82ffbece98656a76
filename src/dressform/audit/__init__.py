"""The audit of a body: faults of its morphs before any garment is put on."""

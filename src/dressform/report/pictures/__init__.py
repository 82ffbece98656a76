"""Pictures of meshes and faults, drawn without a display."""

"""What keeps reading safe: memory limits, links, names, and careful readers of TOML and .npy."""

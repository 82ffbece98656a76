"""A scene read: its nodes, primitives, skins and tracks put together."""

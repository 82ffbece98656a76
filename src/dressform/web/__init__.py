"""The local page, live: a session over opened files, and the loopback server that a browser talks to."""

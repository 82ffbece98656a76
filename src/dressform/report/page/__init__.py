"""What the page is given: data, layers, charts, and the bundle it runs."""

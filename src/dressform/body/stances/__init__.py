"""Where stances come from: joints recognised, turned, moved to published limits, and moments of animations."""

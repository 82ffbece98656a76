"""How cloth and skin lie to each other: sides, hidden skin, what shows and what lies inside."""

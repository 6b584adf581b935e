"""How long things take: run by hand, never part of what the tests decide."""

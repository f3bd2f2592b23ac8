"""Who lived how long, and what killed the rest."""

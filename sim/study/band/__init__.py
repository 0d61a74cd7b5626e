"""How far forward and aft the balance may lie: what trims there, and what flies."""

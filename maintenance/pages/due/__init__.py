"""Due: what no rig should move for, this week, the next 60 days, and all the rest."""

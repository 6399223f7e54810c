"""What someone holds and lacks: levels on a date, profiles, gaps, similar roles."""

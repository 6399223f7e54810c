"""What a team can do on a date and over time, its fragile needs, and the company's cover."""

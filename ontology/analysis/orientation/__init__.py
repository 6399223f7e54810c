"""What newcomers, and people in a new role, meet when, and what is open of it."""

"""Questions about a person, or about someone who is fully in a role."""

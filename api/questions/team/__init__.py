"""Questions about a team."""

"""Moves between roles: routes, reach, the role graph, and what the architect asks of it."""

"""Questions about a session: who has a seat, and who waits for one."""

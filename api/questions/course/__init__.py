"""Questions about a course: who needs it, and by when."""

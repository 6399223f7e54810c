"""Questions about the framework and its states."""

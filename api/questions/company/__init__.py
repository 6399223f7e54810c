"""Questions about the company and its framework as a whole."""

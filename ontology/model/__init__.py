"""Records of every table, their columns, and what follows from a row alone."""

"""What differs between two states: which records are the same, what came, went and changed, what became of it."""

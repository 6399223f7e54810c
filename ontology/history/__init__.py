"""What changed: the rows that a patch is told by, the commits of a store, the life of a record."""

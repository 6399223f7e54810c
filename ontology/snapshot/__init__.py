"""The immutable graph of one revision, its tables and indexes."""

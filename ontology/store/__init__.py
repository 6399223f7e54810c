"""The one door to the embedded store: commits, generations on disk, backups."""

"""Loaders of official open data sets; a user loads the files of the publisher's own download."""

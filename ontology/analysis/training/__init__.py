"""Whom to train in what: cross-training plans, practice ceilings, when each course is held."""

"""Whom to train in what: cross-training plans, practice ceilings, timetables."""

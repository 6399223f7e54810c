"""What can be asked of a competency."""

"""From records to quads and back, and what a change of records is in quads."""

"""What people must hold by when, what they do first about it, and what was known of it on a day."""

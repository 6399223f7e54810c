"""What was agreed with a person: how it stands, what else today would bring, and writing it down."""

"""What is to mend in a framework, by how many it touches."""

"""What the server keeps besides the graph: in a database of its own, never in the store."""

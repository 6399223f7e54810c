"""From the store to one immutable snapshot of the graph."""

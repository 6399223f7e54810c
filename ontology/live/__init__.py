"""The graph as it lives: the latest Snapshot, compiled when the store has moved on."""

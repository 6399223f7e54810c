"""How alike texts are: the door to rapidfuzz."""

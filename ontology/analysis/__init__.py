"""Every computation on the graph, pure: no store, no files, no clock, no unseeded randomness."""

"""The desk: what can be asked, described once, and the one place that answers. Knows nothing of HTTP or terminals."""

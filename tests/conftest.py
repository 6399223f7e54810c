"""What all tests have alike."""

from api.memory import collect_seldom

# the tests keep hundreds of Snapshots at once: with Python's own thresholds a third of their time looks through them
collect_seldom()

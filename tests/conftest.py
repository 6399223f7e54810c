"""What all tests have alike."""

from effort import draws
from hypothesis import HealthCheck, settings

from api.memory import collect_seldom

# the tests keep hundreds of Snapshots at once: with Python's own thresholds a third of their time looks through them
collect_seldom()

# a busy machine is no fault of what is tested
settings.register_profile("usual", deadline=None, suppress_health_check=[HealthCheck.too_slow], max_examples=draws(100))
if settings.get_current_profile_name() == "default":
    settings.load_profile("usual")

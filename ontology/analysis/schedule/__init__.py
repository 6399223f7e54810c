"""Learning in calendar time: schedules, critical chains, development plans."""
